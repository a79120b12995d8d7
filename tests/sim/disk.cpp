#include "tests/sim/disk.hpp"

#include <algorithm>
#include <cerrno>

#include "tests/sim/disk_state.hpp"

namespace nightferry::sim {

namespace {

constexpr std::size_t sector = 512;

void overlay(std::string& bytes, std::uint64_t offset, std::string_view piece) {
    if (bytes.size() < offset + piece.size()) bytes.resize(offset + piece.size());
    bytes.replace(offset, piece.size(), piece);
}

void carry_out(const Change& change, std::string& bytes) {
    if (change.is_cut) {
        bytes.resize(change.offset);
    } else {
        overlay(bytes, change.offset, change.bytes);
    }
}

// What a power cut leaves of a file. `keep` decides once for every sector of a write and every new size.
template <class Keep>
std::string remains_of(const Inode& file, const Keep& keep) {
    std::string bytes = file.durable;
    std::size_t size = bytes.size();
    for (const Change& change : file.dirty) {
        if (change.is_cut) {
            if (!keep()) continue;
            bytes.resize(std::min<std::size_t>(bytes.size(), change.offset));
            size = change.offset;
            continue;
        }
        const std::uint64_t end = change.offset + change.bytes.size();
        for (std::uint64_t at = change.offset; at < end;) {
            const std::uint64_t next = std::min(end, (at / sector + 1) * sector);
            if (keep())
                overlay(bytes, at, std::string_view(change.bytes).substr(at - change.offset, next - at));
            at = next;
        }
        if (end > size && keep()) size = end;
    }
    bytes.resize(size);
    return bytes;
}

}  // namespace

std::string folder_of(const std::string& path) {
    return path.substr(0, path.rfind('/'));
}

void carry_out(const NameChange& change, Names& names) {
    const auto old = names.find(change.from);
    if (old != names.end() && old->second == change.inode) names.erase(old);
    if (!change.to.empty()) names[change.to] = change.inode;
}

void Disk::set_faults(const Faults& faults) {
    faults_ = faults;
    calls_since_ = matching_since_ = 0;
}

// Like the system's own, the number of an error stays until the next one.
Disk::Outcome Disk::begin(Call kind) {
    const auto failing = [&](int number, Outcome outcome) {
        errno_ = number;
        return outcome;
    };
    if (is_dead_) return failing(EIO, Outcome::fail);
    ++counters_.calls;
    if (++calls_since_ == faults_.die_at) {
        is_dead_ = true;
        return failing(EIO, Outcome::die);
    }
    if (faults_.read_only && (kind & (writing | cutting | removing | renaming)) != 0)
        return failing(EROFS, Outcome::fail);
    if ((kind & faults_.kinds) == 0) return Outcome::go;
    const bool is_nth = ++matching_since_ == faults_.fail_at;
    const bool is_unlucky = faults_.per_mille != 0 && dice_.below(1000) < faults_.per_mille;
    return is_nth || is_unlucky ? failing(EIO, Outcome::fail) : Outcome::go;
}

int Disk::make(const std::string& path) {
    const int inode = state_->next_inode++;
    state_->inodes[inode].modified = now_;
    if (path.empty()) return inode;
    state_->names[path] = inode;
    state_->name_changes.push_back({"", path, inode});
    return inode;
}

void Disk::unlink(const std::string& path) {
    const NameChange change{path, "", state_->names.at(path)};
    carry_out(change, state_->names);
    state_->name_changes.push_back(change);
    forget_unused();
}

int Disk::write(int inode, const char* bytes, std::size_t count, std::uint64_t offset) {
    const Outcome outcome = begin(writing);
    if (outcome == Outcome::fail) return errno_;
    Inode& file = state_->inodes.at(inode);
    if (outcome == Outcome::die) count = dice_.below(count + 1);
    const std::size_t whole = count;
    if (offset + count > file.seen.size()) {
        const std::uint64_t end = file.seen.size() + faults_.capacity - std::min(faults_.capacity, used());
        if (faults_.capacity != UINT64_MAX && offset + count > end) count = end > offset ? end - offset : 0;
    }
    if (count > 0) {
        const Change change{false, offset, std::string(bytes, count)};
        carry_out(change, file.seen);
        file.dirty.push_back(change);
        file.modified = now_;
        counters_.bytes_written += count;
    }
    if (outcome == Outcome::die) return EIO;
    return count < whole ? ENOSPC : 0;
}

int Disk::cut(int inode, std::uint64_t size) {
    if (begin(cutting) != Outcome::go) return errno_;
    const Change change{true, size, {}};
    Inode& file = state_->inodes.at(inode);
    carry_out(change, file.seen);
    file.dirty.push_back(change);
    file.modified = now_;
    return 0;
}

int Disk::sync_inode(int inode) {
    const bool was_dead = is_dead_;
    const Outcome outcome = begin(syncing);
    Inode& file = state_->inodes.at(inode);
    if (outcome == Outcome::fail && !was_dead) file.dirty.clear();
    if (outcome != Outcome::go) return errno_;
    ++counters_.syncs;
    for (const Change& change : file.dirty)
        carry_out(change, file.durable);
    file.dirty.clear();
    name_is_durable(inode);
    return 0;
}

// A name becomes durable with everything that happened to it before.
void Disk::name_is_durable(int inode) {
    auto& changes = state_->name_changes;
    const auto made = std::find_if(changes.begin(), changes.end(), [&](const NameChange& change) {
        return change.inode == inode && change.from.empty();
    });
    if (made == changes.end()) return;
    const std::string path = made->to;
    const auto end = made + 1;
    for (auto change = changes.begin(); change != end; ++change) {
        if (change->touches(path)) carry_out(*change, state_->durable_names);
    }
    changes.erase(
        std::remove_if(changes.begin(), end, [&](const NameChange& change) { return change.touches(path); }),
        end);
}

void Disk::settle_names(const std::string& folder) {
    auto& changes = state_->name_changes;
    const auto is_inside = [&](const NameChange& change) {
        return folder_of(change.from) == folder || folder_of(change.to) == folder;
    };
    for (const NameChange& change : changes) {
        if (is_inside(change)) carry_out(change, state_->durable_names);
    }
    std::erase_if(changes, is_inside);
    forget_unused();
}

std::uint64_t Disk::used() const {
    std::uint64_t sum = 0;
    std::set<int> counted;
    for (const auto& [path, inode] : state_->names)
        counted.insert(inode);
    for (const Handle* handle : handles_)
        counted.insert(handle->inode);
    for (const int inode : counted)
        sum += state_->inodes.at(inode).seen.size();
    return sum;
}

void Disk::forget_unused() {
    std::set<int> in_use;
    for (const auto* names : {&state_->names, &state_->durable_names}) {
        for (const auto& [path, inode] : *names)
            in_use.insert(inode);
    }
    for (const NameChange& change : state_->name_changes)
        in_use.insert(change.inode);
    for (const Handle* handle : handles_)
        in_use.insert(handle->inode);
    std::erase_if(state_->inodes, [&](const auto& item) { return !in_use.contains(item.first); });
}

void Disk::kill() {
    handles_.clear();
    held_.clear();
    ++process_;
    is_dead_ = false;
    forget_unused();
}

void Disk::cut_power(Random& random) {
    // From a cut that loses everything to one that loses nothing.
    const std::uint64_t quarters = random.below(5);
    const auto keep = [&] { return random.below(4) < quarters; };
    for (auto& [number, file] : state_->inodes) {
        file.durable = remains_of(file, keep);
        file.dirty.clear();
        file.seen = file.durable;
    }
    const auto& changes = state_->name_changes;
    std::vector<bool> kept(changes.size());
    for (std::size_t i = 0; i < changes.size(); ++i)
        kept[i] = keep();
    for (std::size_t later = changes.size(); later-- > 0;) {
        for (std::size_t i = 0; kept[later] && i < later; ++i) {
            if (changes[i].touches(changes[later].to) || changes[i].touches(changes[later].from))
                kept[i] = true;
        }
    }
    for (std::size_t i = 0; i < changes.size(); ++i) {
        if (kept[i]) carry_out(changes[i], state_->durable_names);
    }
    state_->name_changes.clear();
    state_->names = state_->durable_names;
    kill();
}

Disk::Snapshot Disk::snapshot() const {
    return std::make_shared<const State>(*state_);
}

void Disk::restore(const Snapshot& snapshot) {
    *state_ = *snapshot;
    kill();
}

}  // namespace nightferry::sim
