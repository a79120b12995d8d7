#include "daemon/logbook/copies.hpp"

#include <algorithm>
#include <array>

#include "daemon/core/words.hpp"

namespace nightferry::logbook {

namespace {

bool is_copy(const std::filesystem::path& found, const std::filesystem::path& file) {
    const std::string name = found.filename().string();
    const std::string own = file.filename().string();
    if (name == own || name.ends_with(".copying") || name.find(".unmarked") != std::string::npos)
        return false;
    return name.ends_with(".sqlite") || name.starts_with(own + ".before-v");
}

}  // namespace

void remove_leftovers(const std::filesystem::path& file, Files& files) {
    const auto found = files.list(Beside(file).folder);
    if (!found) return;
    const std::string own = file.filename().string();
    for (const Files::Found& one : *found) {
        const std::string name = one.file.filename().string();
        const bool is_unfinished =
            std::ranges::any_of(std::array{".copied", ".copying", ".restoring", ".moving-"},
                                [&](const char* ending) { return name.starts_with(own + ending); });
        const bool is_unfinished_copy =
            name.starts_with(own + ".before-v") &&
            (name.find(".copying") != std::string::npos || name.find(".unmarked") != std::string::npos);
        if (is_unfinished || is_unfinished_copy) (void)files.remove(one.file);
    }
}

std::string how_to_restore(const std::filesystem::path& file, Files& files) {
    std::vector<std::string> named;
    if (const auto found = files.list(Beside(file).folder)) {
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
           "user, and "
           "start it again; the file that is at " +
           path +
           " now is kept under another name. What was recorded after the copy was made has to be handed in "
           "again, "
           "and whatever of it the clinic already has is recognised.";
}

}  // namespace nightferry::logbook
