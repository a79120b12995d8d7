// Percent-encoding (RFC 3986 section 2.1), for query strings and for the addresses that servers give.
#pragma once

#include <string>
#include <string_view>

namespace nightferry::fhir::exchange {

// Encodes all but unreserved characters, ":" and "/", which a query may hold as they are (section 3.4).
std::string percent_encoded(std::string_view text);

// Undoes it. A broken escape stays as it is. In a query a plus is a blank (WHATWG URL, form encoding).
enum class Plus { is_plus, is_blank };
std::string percent_decoded(std::string_view text, Plus plus = Plus::is_plus);

}  // namespace nightferry::fhir::exchange
