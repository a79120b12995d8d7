// Helping a person whose logbook cannot be used.
#pragma once

#include <filesystem>
#include <string>

#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

// Which copies of the logbook lie beside it, and how to go back to one; where there is none, what to look
// for.
std::string how_to_restore(const std::filesystem::path& file, Files& files);

}  // namespace nightferry::logbook
