// Opening the logbook, whatever happened to it.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>

#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

// The logbook's file in a data folder.
std::filesystem::path file_in(const std::filesystem::path& data);

// Opens the logbook file for this process alone: written anew if the disk is in doubt, migrated, checked, and
// with a commit of its own on disk. That commit matters: after a kill between a write and its fsync, a
// repeated submission changes nothing, so its commit would sync nothing, and saying "already there" would be
// a lie.
//
// Errors:
//   locked     another process has it.
//   disk_full  no room even for that commit. Nothing was changed; it works again when there is room.
//   corrupt    the file is damaged, missing beside its WAL, somebody else's or from a newer version. It was
//              left as it is; the words name the copies beside it and how to go back to one.
//   setup      the folder is missing, read-only or no local disk.
//   storage    the disk failed. What was accepted is still there; trying again may work.
//
// `goes_on` watches the database from its opening on, and afterwards until it is told otherwise
// (Database::watch); where it returned false, the error is storage and nothing was changed.
Result<std::unique_ptr<Database>> open(const std::filesystem::path& file, Instant now,
                                       Files& files = system_files(),
                                       const std::function<bool()>& goes_on = {});

// Whether this opening was the first of this logbook, which began it: for good when it happens where one was
// expected.
Result<bool> is_first_start(Database& db);

}  // namespace nightferry::logbook
