#include "daemon/core/folders.hpp"

#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>

namespace nightferry {

namespace {

std::filesystem::path without_slash(const std::filesystem::path& folder) {
    return (folder / "").parent_path();
}

}  // namespace

std::error_code make_folder(const std::filesystem::path& folder, std::filesystem::perms rights) {
    std::error_code failure;
    const std::filesystem::path place = without_slash(folder);
    if (place.has_parent_path()) std::filesystem::create_directories(place.parent_path(), failure);
    if (failure) return failure;
    const mode_t before = ::umask(static_cast<mode_t>(std::filesystem::perms::all & ~rights));
    std::filesystem::create_directory(place, failure);
    ::umask(before);
    return failure;
}

std::string other_owner_of(const std::filesystem::path& folder) {
    struct stat facts {};
    if (::geteuid() != 0 || ::stat(folder.c_str(), &facts) != 0 || facts.st_uid == 0) return {};
    const passwd* user = ::getpwuid(facts.st_uid);
    return user == nullptr ? std::to_string(facts.st_uid) : user->pw_name;
}

std::error_code give_to_owner_above(const std::filesystem::path& folder) {
    std::error_code failure;
    if (::geteuid() != 0 || !std::filesystem::is_empty(folder, failure)) return failure;
    const std::filesystem::path above = std::filesystem::absolute(without_slash(folder)).parent_path();
    struct stat facts {};
    struct stat facts_above {};
    if (::lstat(folder.c_str(), &facts) != 0 || ::stat(above.c_str(), &facts_above) != 0)
        return {errno, std::generic_category()};
    if (facts.st_uid == 0 && ::lchown(folder.c_str(), facts_above.st_uid, facts_above.st_gid) != 0)
        return {errno, std::generic_category()};
    return {};
}

}  // namespace nightferry
