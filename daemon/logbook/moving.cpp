#include "daemon/logbook/moving.hpp"

#include <algorithm>

#include "daemon/logbook/copied.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

namespace {

namespace fs = std::filesystem;

constexpr const char* parts[] = {"", ".rewritten", "-wal", "-journal", "-shm", ".rewriting", ".in-doubt"};
constexpr const char* moving = ".moving-";
constexpr const char* to_aside = ".aside-";

// "20261126T101500Z".
std::string stamp(Instant now) {
    std::string text;
    for (const char c : to_text(std::chrono::floor<std::chrono::seconds>(now))) {
        if (c != '-' && c != ':') text += c;
    }
    return text;
}

Result<bool> exists(const fs::path& file, Files& files) {
    const auto size = files.size(file);
    if (!size) return size.error();
    return size->has_value();
}

fs::path mark_of(const fs::path& file, const Aside& aside) {
    const std::string name = aside.file.string();
    return file.string() + moving + name.substr(file.string().size() + std::string_view(to_aside).size());
}

Result<Aside> free_name(const fs::path& file, Instant now, Files& files) {
    const fs::path aside = file.string() + to_aside + stamp(now);
    const auto found = files.list(Beside(file).folder);
    if (!found) return found.error();
    const auto taken = std::ranges::find_if(*found, [&](const Files::Found& one) {
        return one.file.filename().string().starts_with(aside.filename().string());
    });
    if (taken == found->end()) return Aside{aside, false};
    return Error{Errc::setup, taken->file.string() + " is there already; try again in a second"};
}

}  // namespace

Result<bool> is_logbook_there(const fs::path& file, Files& files) {
    for (const char* ending : {"", ".rewritten", "-wal", "-journal"}) {
        const auto there = exists(file.string() + ending, files);
        if (!there || *there) return there;
    }
    return false;
}

Result<Aside> find_aside(const fs::path& file, Instant now, Files& files) {
    const auto found = files.list(Beside(file).folder);
    if (!found) return found.error();
    const std::string begun = file.filename().string() + moving;
    const auto there = exists(file, files);
    if (!there) return there.error();
    for (const Files::Found& one : *found) {
        const std::string name = one.file.filename().string();
        if (!name.starts_with(begun)) continue;
        if (!*there) return Aside{file.string() + to_aside + name.substr(begun.size()), true};
        // It was cut short before it moved anything, or somebody put another file there since.
        if (const auto removed = files.remove(one.file); !removed) return removed.error();
    }
    return free_name(file, now, files);
}

Result<void> move_aside(const fs::path& file, const Aside& aside, Files& files) {
    const Beside beside(file);
    const fs::path mark = mark_of(file, aside);
    if (const auto left = leave_mark(files, mark); !left) return left;
    for (const char* ending : parts) {
        const auto there = exists(file.string() + ending, files);
        if (!there) return there.error();
        if (!*there) continue;
        const auto moved = files.rename(file.string() + ending, aside.file.string() + ending);
        if (!moved) return moved;
        if (const auto synced = files.sync_folder(beside.folder); !synced) return synced;
    }
    return remove_for_good(files, {mark});
}

Result<std::optional<Instant>> last_written(const fs::path& file, const Aside& aside, Files& files) {
    const auto found = files.list(Beside(file).folder);
    if (!found) return found.error();
    std::optional<Instant> last;
    for (const fs::path& name : {file, aside.file}) {
        for (const Files::Found& one : *found) {
            const std::string own = one.file.filename().string();
            if (own == name.filename().string() || own == name.filename().string() + "-wal")
                last = std::max(last.value_or(one.modified), one.modified);
        }
        const auto there = exists(name, files);
        if (!there) return there.error();
        if (!*there) continue;
        // It is moved because something is wrong with it, so what it does not tell, it does not tell.
        auto db = Database::open_sealed(name, files);
        const auto accepted = db ? newest_accepted(*db) : db.error();
        if (accepted && *accepted) last = std::max(last.value_or(**accepted), **accepted);
    }
    return last;
}

}  // namespace nightferry::logbook
