// Whether a logbook is whole: pages, tables, entries, counts and the audit trail, and how much is in it.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

struct Checkup {
    std::int64_t version = 0;  // Of the tables.
    std::int64_t entries = 0;
    std::int64_t revisions = 0;
    std::int64_t deliveries = 0;
    std::int64_t receipts = 0;
    std::int64_t audit_rows = 0;
    std::string audit_hash;         // Of the newest row.
    std::optional<Instant> newest;  // When the newest revision was accepted.
    // What is wrong, a sentence each, in ids and names of tables; after many no more is looked for.
    std::vector<std::string> faults;

    bool is_sound() const { return faults.empty(); }
};

// Reads everything and changes nothing. An error means that the disk failed; what is damaged is a fault.
Result<Checkup> check_up(Database& db);

// The same of a file that no process uses: a backup. It is opened for reading only. Errors, with words that
// name the file: not_found; setup when this user cannot read it; storage when its disk fails; corrupt when it
// is no logbook, of a newer version, or not complete by itself (its WAL lies beside it).
Result<Checkup> check_up(const std::filesystem::path& file);

}  // namespace nightferry::logbook
