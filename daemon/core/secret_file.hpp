// Files that hold secrets: keys, tokens, passwords. They never stand in the settings, on a command line or in
// the environment.
#pragma once

#include <filesystem>
#include <string>

#include "daemon/core/result.hpp"

namespace nightferry {

// The whole file; "credential:NAME" is the one of that name that the service manager handed over. Errc::setup
// when it cannot be read, is larger than 64 KiB or no plain file, when others than its owner and its group
// may read it, when others than its owner may write it, or when its owner is neither this process's user nor
// root. The error names the file and what to do, never its content.
Result<std::string> read_secret(const std::filesystem::path& file);

// The same of what may be known to everybody, such as a certificate.
Result<std::string> read_beside_secrets(const std::filesystem::path& file);

// A secret without a line break at the end, for one token or password. Errc::setup when it is empty or has
// several lines.
Result<std::string> read_secret_line(const std::filesystem::path& file);

}  // namespace nightferry
