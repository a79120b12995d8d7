// The durable store of entries and their revisions, append-only.
//
// Invariants:
//   (1) What accept() returned as added or already there survives power loss.
//   (2) A revision once stored is never changed or removed.
//   (3) Every entry that a clinic may have has exactly one delivery to it, wanting the revision in effect.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/logbook/acceptance.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/logbook/opening.hpp"

namespace nightferry::logbook {

// A submission on its way in.
struct Arrival {
    entry::Submission submission;
    std::string source;                // Where it came in: "inbox" or "local".
    std::vector<std::string> clinics;  // Those that may have entries of its person.
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

    // Says which clinics the settings name. Others get no deliveries from now on, so that owe() has to look
    // again when one of them comes back.
    Result<void> share_only_with(std::span<const std::string> clinics);

    // Gives every entry of these persons a delivery to the clinic where one is missing, as after a new
    // clinic was set up. Looks only when the persons are not those of the last time. Returns how many were
    // added.
    Result<std::int64_t> owe(const std::string& clinic, std::span<const std::string> persons, Instant now);

    Result<std::optional<EntryRecord>> find(const EntryId& id);
    Result<Listing> list(const Filter& filter);
    Result<PersonHistory> history(const std::string& person);

    // How many revisions were added since this object was made: equal numbers, equal entries.
    std::int64_t additions() const { return additions_; }

 private:
    Result<Verdict> accept_one(const Arrival& arrival, Instant now);
    Result<void> store(const Arrival& arrival, const Verdict& verdict, Instant now);
    Result<void> want(const std::string& clinic, const EntryId& id, std::int64_t revision, Instant now);

    Database& db_;
    std::int64_t additions_ = 0;
};

}  // namespace nightferry::logbook
