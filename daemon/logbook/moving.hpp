// Moving a logbook aside, with all that belongs to it, so that another can take its place.
//
//   1. NAME.moving-STAMP: an empty file, which says under which stamp the move was begun.
//   2. Each part is renamed to NAME.aside-STAMP with its ending; the file itself first, so that at no moment
//      it lies there without its WAL.
//   3. NAME.moving-STAMP is removed.
//
// Each step is on disk before the next begins. One that was cut short goes on under its stamp: apart from its
// WAL the file would look whole and lack the newest entries. The folder is held by this process throughout.
#pragma once

#include <filesystem>
#include <optional>

#include "daemon/core/time.hpp"
#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

struct Aside {
    std::filesystem::path file;  // The name that the logbook gets, or has in part.
    bool has_begun = false;      // An earlier move to it was cut short.
};

// Whether there is a logbook, or a part of one.
Result<bool> is_logbook_there(const std::filesystem::path& file, Files& files);

// Where the logbook is to go. Errc::setup when something has that name already.
Result<Aside> find_aside(const std::filesystem::path& file, Instant now, Files& files);

// All steps, from where they are to be gone on with.
Result<void> move_aside(const std::filesystem::path& file, const Aside& aside, Files& files);

// The latest moment at which something is known to have been written to the logbook that is moved, or was in
// part: what its files and, as far as it can be read, its newest entry say. Nothing when there is none.
Result<std::optional<Instant>> last_written(const std::filesystem::path& file, const Aside& aside,
                                            Files& files);

}  // namespace nightferry::logbook
