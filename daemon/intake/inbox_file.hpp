// Opens one file of the inbox with care.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <variant>

#include "daemon/core/time.hpp"

namespace nightferry::intake {

struct Gone {};        // Somebody took it away meanwhile.
struct NotYet {};      // It is being written, or was a moment ago.
struct PassedOver {};  // Somebody has had it open for writing for long; others need not wait for it.
struct Unusable {
    std::string why;  // For the person who dropped it.
};
// Which file was read, and in which state.
struct FileMark {
    std::uint64_t device = 0;
    std::uint64_t inode = 0;
    std::int64_t size = 0;
    std::int64_t changed_ns = 0;
    bool operator==(const FileMark&) const = default;
};
struct Content {
    std::string bytes;
    FileMark mark;
};
using FileContent = std::variant<Content, Gone, NotYet, PassedOver, Unusable>;

// Reads a regular file of at most 4 MiB that nobody is writing to. Links are not followed, devices and pipes
// not opened. `known_closed` says that the writer has just closed it; else it has to have been quiet for two
// seconds.
FileContent read_inbox_file(const std::filesystem::path& file, Instant now, bool known_closed);

// The mark of what lies there now; an empty one when nothing does.
FileMark mark_of(const std::filesystem::path& file);

// Where a file of this name can lie in a folder: the name itself, or with a number before its ending when
// that is taken; shortened where it leaves no room for the number and for `.reason.txt` behind it.
std::filesystem::path free_place(const std::filesystem::path& folder, const std::string& name);

// The kernel tells the holder of a file lease by SIGIO when somebody else wants to write, which by default
// ends the process. To be called once before any file is read.
void ignore_lease_signals();

}  // namespace nightferry::intake
