#include "daemon/core/folders.hpp"

#include <sys/stat.h>

namespace nightferry {

std::error_code make_folder(const std::filesystem::path& folder, std::filesystem::perms rights) {
    std::error_code failure;
    const std::filesystem::path place = (folder / "").parent_path();  // Without a slash at its end.
    if (place.has_parent_path()) std::filesystem::create_directories(place.parent_path(), failure);
    if (failure) return failure;
    const mode_t before = ::umask(static_cast<mode_t>(std::filesystem::perms::all & ~rights));
    std::filesystem::create_directory(place, failure);
    ::umask(before);
    return failure;
}

}  // namespace nightferry
