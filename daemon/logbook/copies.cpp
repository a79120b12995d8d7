#include "daemon/logbook/copies.hpp"

#include <algorithm>
#include <cctype>
#include <regex>
#include <set>

#include "daemon/core/words.hpp"

namespace nightferry::logbook {

namespace {

// Whether it is a whole logbook: one put there by somebody, kept before an upgrade, or moved aside.
bool is_copy(const std::filesystem::path& found, const std::filesystem::path& file) {
    const std::string name = found.filename().string();
    const std::string own = file.filename().string();
    if (name == own) return false;
    for (const std::string& kept : {own + ".before-v", own + ".aside-"}) {
        if (name.starts_with(kept))
            return std::ranges::all_of(name.substr(kept.size()),
                                       [](unsigned char c) { return std::isalnum(c) != 0; });
    }
    return name.ends_with(".sqlite");
}

// Names that this program gives to what it has not finished: what follows the logbook's own name. Nothing
// else is taken for a leftover, however its name begins.
bool is_unfinished(const std::string& ending) {
    static const std::regex names(
        R"rx((\.copying|\.copied(\.copying|\.unmarked)?|\.before-v[0-9]+\.(copying|unmarked))(-wal|-journal|-shm)?)rx"
        R"rx(|\.restoring(\.part|-wal\.part|-wal|-journal|-shm)?|\.moving-[0-9]{8}T[0-9]{6}Z)rx");
    return std::regex_match(ending, names);
}

}  // namespace

void remove_leftovers(const std::filesystem::path& file, Files& files) {
    const auto found = files.list(Beside(file).folder);
    if (!found) return;
    const std::string own = file.filename().string();
    for (const Files::Found& one : *found) {
        const std::string name = one.file.filename().string();
        if (name.starts_with(own) && is_unfinished(name.substr(own.size()))) (void)files.remove(one.file);
    }
}

Result<std::vector<Files::Found>> files_beside(const std::filesystem::path& file, Files& files) {
    const Beside beside(file);
    std::set<std::filesystem::path> in_use{file,          beside.wal,       beside.in_doubt,
                                           beside.closed, beside.rewriting, beside.rewritten};
    in_use.insert(beside.leftovers.begin(), beside.leftovers.end());
    auto found = files.list(beside.folder);
    if (!found) return found;
    std::erase_if(*found, [&](const Files::Found& one) {
        const std::string name = one.file.filename().string();
        const bool is_like_one =
            name.starts_with(file.stem().string()) || name.find(".sqlite") != std::string::npos;
        return !is_like_one || in_use.contains(one.file);
    });
    return found;
}

std::string how_to_restore(const std::filesystem::path& file, Files& files) {
    std::vector<std::string> named;
    if (const auto found = files_beside(file, files)) {
        for (const Files::Found& one : *found) {
            if (is_copy(one.file, file))
                named.push_back(one.file.filename().string() + " (last changed " +
                                to_text(std::chrono::floor<std::chrono::seconds>(one.modified)) + ")");
        }
    }
    const std::string path = file.string();
    const std::string lie_there =
        named.empty() ? "No copy of it lies in that folder; look for one among the backups of this machine"
                      : "Beside it " + std::string(named.size() == 1 ? "lies " : "lie ") +
                            all_of(std::vector<std::string_view>(named.begin(), named.end()));
    return lie_there +
           ". To go back to a copy: stop nightferryd, run 'nightferry restore --move-aside COPY' as its "
           "user, "
           "and start it again; the file that is at " +
           path +
           " now is kept under another name. What was recorded after the copy was made has to be handed in "
           "again, and whatever of it the clinic already has is recognised.";
}

}  // namespace nightferry::logbook
