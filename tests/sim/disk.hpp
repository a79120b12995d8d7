// A whole disk in memory that real SQLite runs on, with everything that can happen to a disk, from a seed.
//
// A file has what its process sees and what would be there after a power cut:
//   - A write or a change of size is durable once the file was synced.
//   - A new file's name is durable once the file or its folder was synced, a removed or renamed one's once
//   the
//     folder was. Changes of one name keep their order; those of different names do not, which is more than a
//     journalling file system allows itself.
//   - A sync that fails loses what it should have written: it stays visible and counts as written, later
//   syncs
//     do not write it, and a power cut takes it away. That is what Linux does.
// Folders need not be made; every path has one.
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "tests/sim/dice.hpp"

namespace nightferry::sim {

// Kinds of calls, to be combined.
enum Call : unsigned {
    opening = 1,
    reading = 2,
    writing = 4,
    cutting = 8,
    syncing = 16,
    removing = 32,
    renaming = 64
};
inline constexpr unsigned every_call = 127;

// What goes wrong. Counts begin when the faults are set.
struct Faults {
    unsigned kinds = every_call;          // What `fail_at` and `per_mille` are about.
    std::uint64_t fail_at = 0;            // The n-th call of those kinds fails once with EIO; 0: none does.
    unsigned per_mille = 0;               // Each call of those kinds fails with EIO as often as this.
    std::uint64_t die_at = 0;             // The process ends in its n-th call of any kind; 0: it does not.
    bool read_only = false;               // As after the kernel met an error and mounted the disk anew.
    std::uint64_t capacity = UINT64_MAX;  // Bytes of all files together.
};

struct Counters {
    std::uint64_t calls = 0;
    std::uint64_t syncs = 0;
    std::uint64_t bytes_written = 0;
};

class Disk {
 public:
    explicit Disk(std::uint64_t seed);
    ~Disk();
    Disk(const Disk&) = delete;
    Disk& operator=(const Disk&) = delete;

    // The name of this disk among SQLite's file layers.
    const char* name() const { return name_.c_str(); }
    // From here on SQLite opens files without a named layer on this disk, and takes its chance from the
    // disk's seed, until restore_default().
    void make_default();
    void restore_default();

    void set_faults(const Faults& faults);
    void set_time(Instant now) { now_ = now; }

    // The process that uses the disk ends here: every call fails and does nothing, so that its objects can be
    // destroyed without a trace. `die_at` brings this about by itself; of a write that it hits, a random part
    // from the beginning happens.
    void die() { is_dead_ = true; }
    bool is_dead() const { return is_dead_; }
    // The process is gone with its handles and locks; everything written is there for the next one. Ends
    // being dead. Handles that still exist are of no effect.
    void kill();
    // The machine is gone: of what was not durable, each sector of 512 bytes, each change of size and each
    // change of a name is kept or lost by chance. Then like kill().
    void cut_power(Random& random);

    // Which process uses the disk, counted.
    std::uint64_t process() const { return process_; }

    struct State;
    using Snapshot = std::shared_ptr<const State>;
    Snapshot snapshot() const;
    // Like kill(), with everything as it was then.
    void restore(const Snapshot& snapshot);

    const Counters& counters() const { return counters_; }

    // Calls of a process, beside those of SQLite. They return 0 or an errno value.
    int create(const std::string& path);
    int rename(const std::string& from, const std::string& to);
    int remove(const std::string& path);
    int sync(const std::string& path);
    int sync_folder(const std::string& folder);
    // False when somebody has it.
    bool hold(const std::string& folder);
    void release(const std::string& folder);
    std::optional<std::uint64_t> size(const std::string& path) const;
    Instant modified(const std::string& path) const;
    // Full paths, sorted.
    std::vector<std::string> files_in(const std::string& folder) const;

    // From outside: no call is counted, nothing fails.
    std::string bytes(const std::string& path) const;
    std::string durable_bytes(const std::string& path) const;
    void put(const std::string& path, const std::string& bytes);
    void flip_bit(const std::string& path, std::uint64_t bit);
    void lose(const std::string& path);

 private:
    friend struct Vfs;
    struct Handle;
    enum class Outcome { go, fail, die };

    Outcome begin(Call kind);
    int make(const std::string& path);
    void unlink(const std::string& path);
    int write(int inode, const char* bytes, std::size_t count, std::uint64_t offset);
    int cut(int inode, std::uint64_t size);
    int sync_inode(int inode);
    void settle_names(const std::string& folder);
    void name_is_durable(int inode);
    std::uint64_t used() const;
    void forget_unused();

    std::string name_;
    std::unique_ptr<State> state_;
    Dice dice_;
    Faults faults_;
    std::uint64_t calls_since_ = 0;
    std::uint64_t matching_since_ = 0;
    Counters counters_;
    Instant now_{};
    bool is_dead_ = false;
    int errno_ = 0;
    std::uint64_t process_ = 1;
    std::set<Handle*> handles_;
    std::set<std::string> held_;
    std::unique_ptr<sqlite3_vfs> vfs_;
    sqlite3_vfs* default_before_ = nullptr;
};

}  // namespace nightferry::sim
