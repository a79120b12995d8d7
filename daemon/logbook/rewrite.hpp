// Writing the logbook's file anew after a failed write or sync. The system may then show pages that never
// reached the disk and never will; what is written to a new file does.
//
//   1. LOGBOOK.rewriting: a copy of everything that is visible, synced.
//   2. Renamed to LOGBOOK.rewritten. From here on this is the logbook, whatever else lies there.
//   3. The old file's WAL and journals are removed: they would be replayed into the new file.
//   4. Renamed to LOGBOOK, and the mark of doubt removed.
//
// Each step is on disk before the next begins, and the next process goes on where this one ended. The folder
// is held by this process throughout.
#pragma once

#include <filesystem>

#include "daemon/logbook/database.hpp"
#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

// Steps 3 and 4, if there is a LOGBOOK.rewritten.
Result<void> finish_rewrite(const std::filesystem::path& file, Files& files);

// All steps. On an error nothing but the database was closed, and the mark of doubt stays.
Result<void> rewrite(Database db, const std::filesystem::path& file, Files& files);

// A copy of everything in the database as a file of its own, on disk with its name when this returns; never
// there in part. `rough` is the name it has until it is whole.
Result<void> copy_durably(Database& db, const std::filesystem::path& rough, const std::filesystem::path& copy,
                          Files& files);

}  // namespace nightferry::logbook
