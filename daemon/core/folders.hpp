// Making the folders that hold what a family wrote down.
#pragma once

#include <filesystem>
#include <string>
#include <system_error>

namespace nightferry {

// Makes this folder with exactly these rights from its first moment, so that no failure and no crash can
// leave it with others, and the folders it lies in with the usual ones. One that is there keeps the rights
// that somebody gave it.
std::error_code make_folder(const std::filesystem::path& folder, std::filesystem::perms rights);

// The name, or else the number, of the user whose folder it is, when that is another than the one this
// process runs as, and this process is root: what root would make in it that user could not change. Empty
// otherwise, and when it is not there.
std::string other_owner_of(const std::filesystem::path& folder);

// A folder that root made for a service, whose user could not enter it otherwise: it is given to the owner of
// the folder it lies in. One that is not empty, or not root's, keeps its owner, and for other users nothing
// happens.
std::error_code give_to_owner_above(const std::filesystem::path& folder);

}  // namespace nightferry
