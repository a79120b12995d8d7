// Copies beside the logbook: which there are for a person whose logbook cannot be used, and those that were
// never finished.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

// The files in the logbook's folder that may hold entries and are not in use: whatever has a name that begins
// like the logbook's or has ".sqlite" in it. Copies, what was moved aside, what was cut short.
Result<std::vector<Files::Found>> files_beside(const std::filesystem::path& file, Files& files);

// Which copies of the logbook lie beside it, and how to go back to one; where there is none, what to look
// for.
std::string how_to_restore(const std::filesystem::path& file, Files& files);

// Removes what a backup, a restore or an update left that was cut short: it holds everything and is of no
// use. For whoever holds the folder and has the logbook open; what cannot be removed stays for the next time.
void remove_leftovers(const std::filesystem::path& file, Files& files);

}  // namespace nightferry::logbook
