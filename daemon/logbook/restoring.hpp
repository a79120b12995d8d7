// Putting a backup in the logbook's place.
#pragma once

#include <filesystem>
#include <optional>

#include "daemon/core/time.hpp"
#include "daemon/logbook/checkup.hpp"
#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

struct Restored {
    Checkup checkup;                             // Of the backup.
    std::optional<std::filesystem::path> aside;  // Where the logbook lies that was in its place.
};

// Puts a copy of the backup in the place of the logbook; the backup stays as it is. A logbook that is there
// is renamed, with all that belongs to it, if it may be moved aside (moving.hpp); nothing is ever removed.
// Stopped at any moment there is the old logbook, or the new one, or none and a mark that keeps a daemon from
// beginning an empty one; trying again then works. A logbook that was itself moved aside is a backup too,
// with the WAL that lies beside it. Errors: locked when a process holds the folder, or uses the backup; setup
// when a logbook is there and may not be moved; corrupt when the backup is not sound.
Result<Restored> restore(const std::filesystem::path& backup, const std::filesystem::path& file,
                         bool may_move, Instant now, Files& files = system_files());

}  // namespace nightferry::logbook
