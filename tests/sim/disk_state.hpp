// What lies on the simulated disk. Used by it alone.
#pragma once

#include "tests/sim/disk.hpp"

namespace nightferry::sim {

// A write, or with `is_cut` a new size.
struct Change {
    bool is_cut = false;
    std::uint64_t offset = 0;
    std::string bytes;
};

struct Inode {
    std::string seen;
    std::string durable;
    std::vector<Change> dirty;  // What the next sync makes durable.
    Instant modified{};
};

// A new name has no `from`, a removed one no `to`.
struct NameChange {
    std::string from;
    std::string to;
    int inode = 0;

    bool touches(const std::string& path) const { return !path.empty() && (from == path || to == path); }
};

using Names = std::map<std::string, int>;

struct Disk::State {
    std::map<int, Inode> inodes;
    Names names;
    Names durable_names;
    std::vector<NameChange> name_changes;  // Not durable yet, oldest first.
    int next_inode = 1;
};

// An open file; SQLite allocates it.
struct Disk::Handle {
    sqlite3_file base;
    Disk* disk;
    const char* path;  // Null for a file without a name.
    int inode;
    std::uint64_t process;
    int lock;
    bool syncs_folder;  // With its first sync, as the system's own layer does for journals it made.
    bool vanishes;      // When it is closed.
    int last_errno;     // Of the last call on it that failed for another reason than a lack of room.
};

std::string folder_of(const std::string& path);
void carry_out(const NameChange& change, Names& names);

}  // namespace nightferry::sim
