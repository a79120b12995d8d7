// What one clinic may have, as the family decided. Pure.
//
// A change applies from then on: what was recorded before a policy became wider is not shared by it, unless
// it was back-dated. SharingHistory knows the policies that a clinic has had, and so what it is owed.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/result.hpp"
#include "daemon/core/time.hpp"
#include "daemon/entry/entry.hpp"

namespace nightferry::entry {

// By what an entry is shared or not.
struct Shareable {
    std::string person;
    Kind kind = Kind::dose_given;
    Instant begins;  // When it happened; of a summary, when the time began that it tells of.
};
Shareable shareable(const Entry& entry);

struct SharingTerms {
    std::set<std::string> persons;  // Their keys; nobody else is shared.
    std::set<Kind> kinds{Kind::dose_given, Kind::dose_not_given, Kind::finding,
                         Kind::weight,     Kind::vial_opened,    Kind::summary};
    std::optional<Moment> from;  // Nothing that began before it.
    bool notes = true;           // Whether free texts go along (free_texts.hpp).

    bool operator==(const SharingTerms&) const = default;
};

class SharingPolicy {
 public:
    // Shares nothing.
    SharingPolicy() = default;
    explicit SharingPolicy(SharingTerms terms) : terms_(std::move(terms)) {}

    // In words for a person; nothing when the clinic may have it.
    std::optional<std::string> why_not(const Shareable& what) const;
    bool may_have(const Entry& entry) const { return !why_not(shareable(entry)); }
    bool with_notes() const { return terms_.notes; }
    const SharingTerms& terms() const { return terms_; }

    // One line, the same for equal policies: what the logbook stores and the audit trail shows.
    std::string text() const;
    // Errc::unreadable for anything that text() never wrote.
    static Result<SharingPolicy> read(std::string_view text);

    bool operator==(const SharingPolicy&) const = default;

 private:
    SharingTerms terms_;
};

// One that is or was in force at a clinic.
struct PolicyInForce {
    Instant since;
    // It counts for what was recorded before it, too, as far as that began at or after this.
    std::optional<Instant> back_to;
    SharingPolicy policy;
};

class SharingHistory {
 public:
    // No policy at all: nobody ever said what the clinic may not have.
    SharingHistory() = default;
    // The oldest first.
    explicit SharingHistory(std::vector<PolicyInForce> policies) : policies_(std::move(policies)) {}

    // Null where there is none.
    const PolicyInForce* in_force() const { return policies_.empty() ? nullptr : &policies_.back(); }

    // Why the clinic may not have it now, whenever it was recorded.
    std::optional<std::string> why_not_now(const Shareable& what) const;
    // Why it is not owed what was recorded first at that instant.
    std::optional<std::string> why_not(const Shareable& what, Instant recorded) const;

    // Whether the free texts of a revision that was accepted then go along.
    bool with_notes(const Shareable& what, Instant accepted) const;
    // Whether free texts have gone along, or have been left out, at any time.
    bool ever_had_notes() const;
    bool ever_left_notes_out() const;

 private:
    std::vector<PolicyInForce> policies_;
};

}  // namespace nightferry::entry
