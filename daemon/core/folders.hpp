// Making the folders that hold what a family wrote down.
#pragma once

#include <filesystem>
#include <system_error>

namespace nightferry {

// Makes this folder with exactly these rights from its first moment, so that no failure and no crash can
// leave it with others, and the folders it lies in with the usual ones. One that is there keeps the rights
// that somebody gave it.
std::error_code make_folder(const std::filesystem::path& folder, std::filesystem::perms rights);

}  // namespace nightferry
