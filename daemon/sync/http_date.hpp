// Dates in HTTP headers.
#pragma once

#include <optional>
#include <string_view>

#include "daemon/core/time.hpp"

namespace nightferry::sync {

// Reads the three forms that a recipient has to accept (RFC 9110 section 5.6.7):
//   Sun, 06 Nov 1994 08:49:37 GMT      Sunday, 06-Nov-94 08:49:37 GMT      Sun Nov  6 08:49:37 1994
// A year of two digits is the one that lies at most 50 years after `now`. The name of the day is not checked.
// Nothing for anything else.
std::optional<Instant> read_http_date(std::string_view text, Instant now);

}  // namespace nightferry::sync
