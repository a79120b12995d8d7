// The logbook's tables and how an older file becomes a current one.
#pragma once

#include <filesystem>

#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

// "NFLB", so that file(1) and we ourselves know the file.
inline constexpr std::int64_t application_id = 0x4E464C42;

// The version this build writes.
std::int64_t schema_version();

// Whether the file is new or one of our logbooks of a version we know. Errc::corrupt for a file of something
// else or of a newer version: it is left byte for byte as it is. Errc::locked when another process holds it.
Result<void> recognise(Database& db);

// Brings a recognised file to schema_version(), one numbered step after the other in one transaction; an
// older file is first copied beside itself as NAME.before-vN; that copy is whole and on disk, with the
// mark of a copy (copied.hpp), or not there.
Result<void> migrate(Database& db, const std::filesystem::path& file, Instant now, Files& files);

}  // namespace nightferry::logbook
