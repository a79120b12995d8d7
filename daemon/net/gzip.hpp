// Compressed answers (RFC 1952).
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "daemon/core/result.hpp"

namespace nightferry::net {

// What was packed; Errc::bad_input when it is no gzip, is cut short, or would be larger than `most`: a few
// bytes can stand for a great many.
Result<std::string> unpack_gzip(std::string_view packed, std::size_t most);

}  // namespace nightferry::net
