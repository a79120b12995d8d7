// The requests that sending is made of, and what their answers say. Pure helpers of SyncMachine.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/result.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/mapping/mapper.hpp"
#include "daemon/sync/fate.hpp"
#include "daemon/sync/manner.hpp"
#include "fhir/exchange/bundle.hpp"
#include "fhir/exchange/location.hpp"

namespace nightferry::sync {

struct Load {
    logbook::Parcel parcel;
    // What the clinic holds of it and may be replaced, because we put it there. Absent: it is created.
    std::optional<fhir::exchange::Location> replace;
    // Where the clinic has put it, once it said so.
    std::optional<fhir::exchange::Location> place;
    // Where the clinic says that something with its identifier is, in which revision it does not say.
    std::optional<fhir::exchange::Location> seen;
    int status = 0;  // With which it said so.
    logbook::Receipt::Written written = logbook::Receipt::Written::just_now;
    bool was_written = false;  // Or may have been, in this pass.
    bool our_id_read = false;  // The place of our own making was looked at since.
    bool was_taken = false;    // In this pass, as the clinic says, without saying where it put it.
    bool was_there = false;    // Before anything was written, as the clinic says.
    bool was_deleted = false;  // What the receipt names was there and is gone.
    int lookups = 0;           // How often this parcel was looked up in this pass.
    // Why a bundle with nothing but this in it was refused; it is then tried in other ways.
    std::string refusal;
    std::vector<Way> tried;        // In which it was refused.
    bool singles_refused = false;  // A request of its own is not offered for it.
    std::optional<Way> way;        // How it is written next; absent: as usual.
};

// Puts one or more loads to the clinic: as a transaction or batch, or alone as a request of its own.
struct WriteJob {
    std::vector<Load> loads;
    Carrier carrier = Carrier::transaction;
};

// Writes the Provenance of loads that have their place already.
struct ProvenanceJob {
    std::vector<Load> loads;
    Carrier carrier = Carrier::batch;
};

// Asks what the clinic holds under an entry's identifier.
struct LookupJob {
    Load load;
    bool is_check = false;  // Of a confirmed delivery, in a read-back.
};

// Reads the resource that was seen, or that the receipt names.
struct ReadJob {
    Load load;
    bool is_check = false;
};

using Job = std::variant<WriteJob, ProvenanceJob, LookupJob, ReadJob>;

// The wanted revision, as far as the clinic may have it.
entry::Version outgoing(const Load& load);

// After so many an entry is confirmed whose Provenance cannot be written.
inline constexpr int attempts_for_provenance = 5;

// What a job of the read-back is about; null for any other job.
const Load* checked_load(const Job& job);

// The clinic's answer for one load.
struct LoadAnswer {
    Fate fate = Fate::look;
    int status = 0;
    std::optional<fhir::exchange::Location> location;
    std::string words;
    bool provenance_refused = false;  // Although the resource itself was taken.
};

// What a look found out.
struct Holding {
    enum class Kind {
        absent,      // Nothing there.
        deleted,     // It was there and somebody deleted it.
        up_to_date,  // It holds what we would send.
        ours_older,  // It holds one of our earlier revisions.
        changed,     // It holds what is not ours: somebody at the clinic changed it.
        not_ours,    // The search found resources, but none bears the identifier.
        several,     // More than one resource bears the identifier.
        hidden,      // It counts more resources than it shows.
        unreadable,  // The answer is no search result, or no resource.
        forbidden,   // The clinic does not let it be asked for.
    };
    Kind kind = Kind::unreadable;
    std::optional<fhir::exchange::Location> location;
    std::size_t matches = 0;
    std::int64_t revision = 0;  // Of ours, which it holds.
    // The first one that it may be: what is amended and amended back reads the same.
    std::int64_t earliest = 1;
};

class JobBuilder {
 public:
    explicit JobBuilder(mapping::Mapper mapper) : mapper_(std::move(mapper)) {}

    mapping::Mapper& mapper() { return mapper_; }
    Manner& manner() { return manner_; }
    const Manner& manner() const { return manner_; }

    // How a parcel that was just taken goes best: at once, or after a look.
    Job job_for(logbook::Parcel parcel) const;

    // Whether it may be where we put it, which nobody has looked at since: a search may not know of it yet.
    bool may_be_under_our_id(const Load& load) const;
    // Makes that place the one that is looked at.
    static Load under_our_id(Load load);

    // Whether nobody can tell if the clinic has it already: sending it again might put it there twice.
    bool is_beyond_asking(const logbook::Parcel& parcel) const {
        const bool is_kept_once =
            (manner_.is_claimed && manner_.creating == Creating::on_condition && !parcel.only_taken_back) ||
            manner_.creating == Creating::under_our_id;
        return parcel.outcome_unknown && !parcel.receipt && !manner_.searches && !is_kept_once;
    }

    // Whether its resource can be made at all, and is valid with its Provenance by the published definitions
    // in the form of its first sending (later ones add the id that the clinic gave it); Errc::setup with the
    // reason when not.
    Result<void> can_send(const logbook::Parcel& parcel) const;

    // What would be written of these together, if it were now: for each its resource and, where the clinic
    // takes it, the Provenance. What is there already is shown as replacing what the receipt names. Every one
    // of them can be sent.
    fhir::exchange::Transaction preview(const std::vector<logbook::Parcel>& parcels) const;

    HttpRequest request(const Job& job) const;
    static HttpRequest statement_request();

    // The answers per load, in order. Answers that do not match the request make every load Fate::look.
    std::vector<LoadAnswer> read(const WriteJob& job, const HttpAnswer& answer) const;
    std::vector<LoadAnswer> read(const ProvenanceJob& job, const HttpAnswer& answer) const;
    Holding read(const LookupJob& job, const HttpAnswer& answer) const;
    Holding read(const ReadJob& job, const HttpAnswer& answer) const;

    // Whether the clinic cannot tell that such a write comes late: it would do once more, or over something
    // newer, what was done by then.
    bool is_unguarded(const WriteJob& job) const;
    // How a load is written next, and how it is written in this job.
    Way way_of(const Load& load) const { return load.way.value_or(usual_way(manner_)); }
    Way way_of(const WriteJob& job, const Load& load) const;
    Creating creating_of(const Load& load) const { return way_of(load).creating; }
    // What the whole request is about, for the meaning of its status.
    static Purpose purpose(const Job& job);

 private:
    HttpRequest write_request(const WriteJob& job) const;
    HttpRequest single_write(const Load& load) const;
    HttpRequest provenance_request(const ProvenanceJob& job) const;
    HttpRequest lookup_request(const Load& load) const;
    fhir::exchange::Transaction bundle(const WriteJob& job) const;
    fhir::exchange::Transaction bundle(const ProvenanceJob& job) const;
    std::vector<LoadAnswer> read_single(const Load& load, const HttpAnswer& answer) const;
    LoadAnswer judged(const Load& load, LoadAnswer answer) const;
    Holding compared(const Load& load, const fhir::exchange::Location& location,
                     const fhir::json::Value& theirs) const;

    Result<void> add_load(fhir::exchange::Transaction& transaction, const Load& load,
                          const WriteJob& job) const;
    void put_provenance(fhir::json::Value& into, const Load& load) const;
    mapping::Links links_for(const Load& load, const WriteJob& job) const;
    std::string dose_reference(const Load& load, const WriteJob& job) const;
    static fhir::exchange::Location place_to_read(const Load& load);
    bool with_provenance(const WriteJob& job) const;
    bool holds(const fhir::json::Value& theirs, const logbook::Parcel& parcel,
               const entry::Version& version) const;
    bool reads_as(const fhir::json::Value& theirs, const entry::Version& version) const;

    mapping::Mapper mapper_;
    Manner manner_;
};

}  // namespace nightferry::sync
