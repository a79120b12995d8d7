// Everything in the logbook, page by page, to be kept or used elsewhere.
#pragma once

#include <string>
#include <vector>

#include "daemon/core/ids.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

// Which entries a page is to hold: those with ids above `after` (a UUID, or empty), at most so many.
struct PageWish {
    std::string after;
    std::int64_t limit = 500;
    std::string person = {};  // Empty: of everybody.
};

// What people recorded, every revision as a line of the entry format (config/entry-format.md), those of one
// entry in the order in which they arrived. Without the hub's own summaries, which another hub makes itself.
struct BodyPage {
    std::string lines;
    std::string last;  // The highest id; empty: there is no more.
};
Result<BodyPage> bodies(Database& db, const PageWish& wish);

// The ids of all entries, summaries as well.
Result<std::vector<EntryId>> entry_ids(Database& db, const PageWish& wish);

Result<bool> has_entries_of(Database& db, const std::string& person);

// The keys of everybody of whom there is an entry.
Result<std::vector<std::string>> persons_in(Database& db);

}  // namespace nightferry::logbook
