// The few things that the logbook does with files beside SQLite: a port, so that a simulated disk can stand
// in.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <vector>

#include "daemon/core/result.hpp"
#include "daemon/core/time.hpp"

namespace nightferry::logbook {

class Files {
 public:
    // A hold on a folder; lets go when it is destroyed or its process ends.
    class Hold {
     public:
        virtual ~Hold() = default;
    };
    struct Found {
        std::filesystem::path file;
        Instant modified;
    };

    virtual ~Files() = default;

    // Errc::locked when another process holds the folder.
    virtual Result<std::unique_ptr<Hold>> hold(const std::filesystem::path& folder) = 0;
    // Nothing when there is no such file.
    virtual Result<std::optional<std::uint64_t>> size(const std::filesystem::path& file) = 0;
    // The regular files in a folder, sorted by name.
    virtual Result<std::vector<Found>> list(const std::filesystem::path& folder) = 0;
    // An empty file, unless there is one.
    virtual Result<void> create(const std::filesystem::path& file) = 0;
    // Replaces what is there; both lie in one folder.
    virtual Result<void> rename(const std::filesystem::path& from, const std::filesystem::path& to) = 0;
    // No error when there is no such file.
    virtual Result<void> remove(const std::filesystem::path& file) = 0;
    // Gives one file the rights of another.
    virtual Result<void> copy_rights(const std::filesystem::path& from, const std::filesystem::path& to) = 0;

    // On disk when they return: what a file holds, and which names a folder has. Not for a file that a
    // database is open on: closing it again would drop this process's locks.
    virtual Result<void> sync(const std::filesystem::path& file) = 0;
    virtual Result<void> sync_folder(const std::filesystem::path& folder) = 0;
};

// Those of the operating system.
Files& system_files();

// An empty file as a sign for the next process, on disk when this returns.
Result<void> leave_mark(Files& files, const std::filesystem::path& mark);
// Removes files, on disk when this returns. All of them lie in one folder.
Result<void> remove_for_good(Files& files, const std::vector<std::filesystem::path>& paths);

// The files beside a logbook.
struct Beside {
    explicit Beside(const std::filesystem::path& logbook);

    std::filesystem::path folder;
    std::filesystem::path wal;
    std::vector<std::filesystem::path>
        leftovers;                   // What belongs to the logbook's present file: WAL and journals.
    std::filesystem::path in_doubt;  // Mark: a write or sync failed, and the system may hide what is missing.
    std::filesystem::path closed;    // Mark: the last process ended cleanly.
    std::filesystem::path rewriting;  // The logbook written anew, not whole yet.
    std::filesystem::path rewritten;  // The same, whole: the truth from the moment it has this name.
};

}  // namespace nightferry::logbook
