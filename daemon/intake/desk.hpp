// Where everything that is handed in arrives: bytes in, one answer per entry out. What it answers as
// accepted or already there is on disk.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/ports.hpp"
#include "daemon/core/result.hpp"
#include "daemon/entry/draft.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/entry/reader.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/mapping/acquaintances.hpp"
#include "fhir/json/document.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::intake {

struct Answer {
    enum class Kind { accepted, already_there, conflict, refused };
    Kind kind = Kind::refused;
    std::string where;                     // Which of the entries handed in.
    std::optional<EntryId> id;             // Unless refused.
    std::int64_t revision = 0;             // For accepted and already there.
    bool is_in_effect = true;              // False for an accepted revision older than one already there.
    bool is_retracted = false;             // For already there: the entry has been retracted since.
    std::vector<entry::Problem> problems;  // For conflict and refused.
};
std::string_view word_for(Answer::Kind kind);

struct Answers {
    std::vector<Answer> answers;
    // Set when what was handed in cannot be read at all; there are no answers then.
    std::optional<entry::Problem> failure;

    // Set when it was FHIR; every `where` is a FHIRPath then.
    struct Resources {
        fhir::spec::Release release = fhir::spec::Release::r4;
        std::string bundle_type;  // Empty: one resource alone.
        // Of each entry of the Bundle its answer; nothing for one that only says whom and what others mean.
        std::vector<std::optional<std::size_t>> answer_of_part;
    };
    std::optional<Resources> resources;

    std::size_t count(Answer::Kind kind) const;
    // Everything is accepted or was there already.
    bool all_good() const;
};

class Desk {
 public:
    // `clinics_for` names the clinics that may have entries of a person; `acquaintances` whom FHIR means.
    Desk(const entry::Household& household, logbook::Logbook& logbook, Clock& clock,
         std::function<std::vector<std::string>(const std::string& person)> clinics_for,
         mapping::Acquaintances acquaintances)
        : household_(household),
          logbook_(logbook),
          clock_(clock),
          clinics_for_(std::move(clinics_for)),
          acquaintances_(std::move(acquaintances)) {}

    // Called after something new was accepted.
    void tell_when_recorded(std::function<void()> on_recorded) { on_recorded_ = std::move(on_recorded); }

    // What was answered since the start, by the source and the answer's word; "unreadable" counts what could
    // not be read at all.
    using Tallies = std::map<std::string, std::map<std::string, std::int64_t>>;
    const Tallies& tallies() const { return tallies_; }

    // An error means that the logbook failed and nothing was accepted: disk_full, or storage. JSON that is a
    // FHIR resource is taken as one.
    Result<Answers> hand_in(std::string_view bytes, entry::Format format, const std::string& source);
    // FHIR resources in JSON, of that release if it is stated. A transaction is accepted whole or not at all.
    Result<Answers> hand_in_resources(std::string_view bytes, std::optional<fhir::spec::Release> release,
                                      const std::string& source);

 private:
    Result<Answers> read_resources(const fhir::json::Value& root, std::optional<fhir::spec::Release> release,
                                   const std::string& source);
    // Adds an answer for each draft.
    Result<void> judge(const std::vector<entry::Draft>& drafts, logbook::Bond bond, const std::string& source,
                       Answers& answers);
    Result<void> accept(const std::vector<logbook::Arrival>& arrivals,
                        const std::vector<std::size_t>& answer_of_arrival, logbook::Bond bond, Instant now,
                        Answers& answers);
    std::vector<std::string> clinics(const entry::Submission& submission) const;
    void tally(const Answers& answers, const std::string& source);

    const entry::Household& household_;
    logbook::Logbook& logbook_;
    Clock& clock_;
    std::function<std::vector<std::string>(const std::string&)> clinics_for_;
    mapping::Acquaintances acquaintances_;
    std::function<void()> on_recorded_ = [] {};
    Tallies tallies_;
};

}  // namespace nightferry::intake
