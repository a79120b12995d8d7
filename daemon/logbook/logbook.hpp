// The durable store of entries and their revisions, append-only.
//
// Invariants:
//   (1) What accept() returned as added or already there survives power loss.
//   (2) A revision once stored is never changed or removed.
//   (3) Every entry that a clinic is to have has exactly one delivery to it, wanting the revision in effect.
//   (4) Whatever is told here is in the audit trail (audit.hpp), in the same commit.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/entry/sharing_policy.hpp"
#include "daemon/logbook/acceptance.hpp"
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/logbook/opening.hpp"

namespace nightferry::logbook {

// A submission on its way in.
struct Arrival {
    entry::Submission submission;
    std::string source;  // Where it came in: "inbox" or "local".
    std::vector<std::string>
        clinics;  // Those that may have entries of its person, as far as their policies go.
};

// Whether one arrival may be stored without the others.
enum class Bond { each_alone, all_or_none };

// An entry with its history and its ways to the clinics.
struct EntryRecord {
    entry::Version current;                 // The revision in effect.
    std::vector<entry::Version> revisions;  // All, in the order of arrival.
    std::vector<Delivery> deliveries;
};

struct Filter {
    std::string person;           // Empty: every person.
    std::optional<Instant> from;  // Happened at or after.
    std::optional<Instant> to;    // Happened before.
    std::int64_t limit = 1000;
    bool summaries = false;  // Those the hub made, too.
};

// Everything of one person.
struct PersonHistory {
    std::vector<std::vector<entry::Version>>
        entries;  // Each with all its revisions, in the order of arrival.
    std::vector<EntryId> unreadable;
};

// What a new policy led to.
struct SharingChange {
    std::string clinic;
    bool is_changed = false;
    std::int64_t owed = 0;       // Deliveries that were added.
    std::int64_t withdrawn = 0;  // Those that are not made any more.
};

// What a clinic has but is not to have any more.
struct Withdrawn {
    EntryId id;
    std::string why;  // In words.
};

struct Listing {
    std::vector<EntryRecord> records;  // Newest first.
    std::vector<EntryId> unreadable;   // Entries whose stored text cannot be read any more.
};

class Logbook {
 public:
    explicit Logbook(Database& db) : db_(db) {}

    // Judges and stores all of them in one commit; the verdicts are in the order of the arrivals. On an
    // error nothing was stored; nor when they are bound and one of them is in conflict: then the verdicts
    // tell what would have become of the others.
    Result<std::vector<Verdict>> accept(std::span<const Arrival> arrivals, Instant now,
                                        Bond bond = Bond::each_alone);

    // ---- sharing.cpp: what each clinic may have. A policy that is set is in force from then on, also in
    // later lives.

    // Says which clinics the settings name. The others may have nothing any more.
    Result<std::vector<SharingChange>> share_only_with(std::span<const std::string> clinics, Instant now);

    // Says what the clinic may have. The first time, and when it comes back after it was gone from the
    // settings, it is owed all of that, however long ago it was recorded; otherwise what is recorded from
    // then on. What it may not have any more is not sent. Looks at entries
    // only when the policy is another one than the last time.
    Result<SharingChange> share(const std::string& clinic, const entry::SharingPolicy& policy, Instant now);

    // The clinic is owed as well what was recorded before it was to have it, as far as that began at or after
    // `to`. `by` is a carer's key. Returns how many deliveries were added; nothing for a clinic without a
    // policy.
    Result<std::optional<std::int64_t>> back_date(const std::string& clinic, Instant to,
                                                  const std::string& by, Instant now);
    // Which entries that would be, the one that happened first first.
    Result<std::vector<EntryId>> would_be_owed(const std::string& clinic, Instant to);

    // Every clinic that was ever given a policy.
    Result<std::vector<std::string>> clinics_with_policies();
    Result<entry::SharingHistory> policies_of(const std::string& clinic);

    // What the clinic has, or may have, although it is not to have it any more; what happened first first.
    Result<std::vector<Withdrawn>> withdrawn(const std::string& clinic, std::size_t limit);

    // ----

    Result<std::optional<EntryRecord>> find(const EntryId& id);
    Result<Listing> list(const Filter& filter);
    Result<PersonHistory> history(const std::string& person);

    // How many revisions were added since this object was made: equal numbers, equal entries.
    std::int64_t additions() const { return additions_; }

 private:
    Result<Verdict> accept_one(const Arrival& arrival, Instant now);
    Result<void> store(const Arrival& arrival, const Verdict& verdict, Instant now);
    Result<void> store_entry(const entry::Submission& submission, const Verdict& verdict);
    // Opens the ways of an entry to the clinics that are to have it, and gives those that it has their new
    // revision. The names of the clinics for which one was opened.
    Result<std::vector<std::string>> open_ways(const Arrival& arrival, const Verdict& verdict, Instant now);
    Result<void> renew_ways(const entry::Submission& submission, std::int64_t revision, Instant now);
    Result<void> want(const std::string& clinic, const EntryId& id, std::int64_t revision, Instant now);
    Result<void> owe(const std::string& clinic, const EntryId& id, std::int64_t revision, AuditEvent event,
                     Instant now);
    Result<const entry::SharingHistory*> history_of(const std::string& clinic);

    Database& db_;
    // As far as they were read; forgotten when anything about them is written.
    std::map<std::string, entry::SharingHistory> policies_;
    std::int64_t additions_ = 0;
};

}  // namespace nightferry::logbook
