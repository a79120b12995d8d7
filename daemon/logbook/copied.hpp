// A logbook that was put back from a copy does not know what was sent, and recorded, after the copy was made.
//
//   1. A copy bears a mark: when it was made. Put in the place of a logbook it bears when that one was last
//      written to, as far as that is known.
//   2. The first opening of a file with that mark doubts every delivery that may have gone out since, revokes
//      every device (one may have been revoked since), takes the mark away, remembers until when the lost
//      life may have lasted, and notes it in the audit trail, all in one commit. A clock that is wrong at
//      that moment does not shorten it: what the copy and the lost logbook tell counts as well.
//   3. From then on, what happened before that moment may be at a clinic already, whoever hands it in.
//
// What is in doubt is looked up at the clinic before it is sent.
#pragma once

#include <filesystem>
#include <optional>
#include <string_view>

#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

// Step 1, of the copy; it keeps an earlier mark.
Result<void> mark_as_copy(Database& copy, Instant now);

// Also step 1, of the copy that takes the place of a logbook.
Result<void> mark_lost_life(Database& copy, Instant last_written);

// When the newest revision was accepted.
Result<std::optional<Instant>> newest_accepted(Database& db);

// A copy of everything in the database, with the mark, as a file of its own: on disk with its name when this
// returns, never there in part or without the mark. Meanwhile it lies at COPY.copying and COPY.unmarked.
Result<void> copy_with_mark(Database& db, const std::filesystem::path& copy, Instant now, Files& files);

// Removes a file that SQLite may have worked on and all that it may have left beside it: a journal would be
// played into the next file of that name.
Result<void> remove_with_journals(const std::filesystem::path& file, Files& files);

// Step 2, inside a transaction; nothing for a file without the mark.
Result<void> doubt_what_a_copy_says(Database& db, Instant now);

// Step 3 alone, for whoever loses what was sent in another way.
Result<void> doubt_what_happened_before(Database& db, Instant now);

// Step 3, an SQL expression: whether the entry ?2 may have been sent by a life of this logbook that was lost.
inline constexpr std::string_view perhaps_sent_in_a_lost_life =
    "EXISTS (SELECT 1 FROM pins p JOIN entries e ON e.entry_id = ?2 WHERE p.name = 'restored_us' "
    "AND e.happened_us <= CAST(p.value AS INTEGER))";

}  // namespace nightferry::logbook
