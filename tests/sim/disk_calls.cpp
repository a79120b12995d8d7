// What processes and owners of the disk call beside SQLite.
#include <cerrno>

#include "tests/sim/disk_state.hpp"

namespace nightferry::sim {

int Disk::create(const std::string& path) {
    const auto outcome = begin(opening);
    if (outcome != Outcome::go) return errno_;
    if (state_->names.contains(path)) return 0;
    if (faults_.read_only) return EROFS;
    make(path);
    return 0;
}

int Disk::rename(const std::string& from, const std::string& to) {
    if (begin(renaming) != Outcome::go) return errno_;
    const auto named = state_->names.find(from);
    if (named == state_->names.end()) return ENOENT;
    const NameChange change{from, to, named->second};
    carry_out(change, state_->names);
    state_->name_changes.push_back(change);
    forget_unused();
    return 0;
}

int Disk::remove(const std::string& path) {
    if (begin(removing) != Outcome::go) return errno_;
    if (!state_->names.contains(path)) return ENOENT;
    unlink(path);
    return 0;
}

int Disk::sync(const std::string& path) {
    const auto named = state_->names.find(path);
    if (named == state_->names.end()) return ENOENT;
    return sync_inode(named->second);
}

// A folder's sync that fails changes nothing: the names stay to be written, as a journal keeps them.
int Disk::sync_folder(const std::string& folder) {
    if (begin(syncing) != Outcome::go) return errno_;
    ++counters_.syncs;
    settle_names(folder);
    return 0;
}

bool Disk::hold(const std::string& folder) {
    return !is_dead_ && held_.insert(folder).second;
}

void Disk::release(const std::string& folder) {
    held_.erase(folder);
}

std::optional<std::uint64_t> Disk::size(const std::string& path) const {
    const auto named = state_->names.find(path);
    if (named == state_->names.end()) return std::nullopt;
    return state_->inodes.at(named->second).seen.size();
}

Instant Disk::modified(const std::string& path) const {
    return state_->inodes.at(state_->names.at(path)).modified;
}

std::vector<std::string> Disk::files_in(const std::string& folder) const {
    std::vector<std::string> paths;
    for (const auto& [path, inode] : state_->names) {
        if (folder_of(path) == folder) paths.push_back(path);
    }
    return paths;
}

std::string Disk::bytes(const std::string& path) const {
    const auto named = state_->names.find(path);
    return named == state_->names.end() ? std::string() : state_->inodes.at(named->second).seen;
}

std::string Disk::durable_bytes(const std::string& path) const {
    const auto named = state_->durable_names.find(path);
    return named == state_->durable_names.end() ? std::string() : state_->inodes.at(named->second).durable;
}

void Disk::put(const std::string& path, const std::string& bytes) {
    lose(path);
    Inode& file = state_->inodes[state_->next_inode];
    file.seen = file.durable = bytes;
    file.modified = now_;
    state_->names[path] = state_->durable_names[path] = state_->next_inode++;
}

void Disk::flip_bit(const std::string& path, std::uint64_t bit) {
    Inode& file = state_->inodes.at(state_->names.at(path));
    const auto mask = static_cast<char>(1U << (bit % 8));
    file.seen.at(bit / 8) = static_cast<char>(file.seen.at(bit / 8) ^ mask);
    if (bit / 8 < file.durable.size())
        file.durable[bit / 8] = static_cast<char>(file.durable[bit / 8] ^ mask);
}

void Disk::lose(const std::string& path) {
    std::erase_if(state_->name_changes, [&](const NameChange& change) { return change.touches(path); });
    state_->names.erase(path);
    state_->durable_names.erase(path);
    forget_unused();
}

}  // namespace nightferry::sim
