// UTF-8 as RFC 3629 defines it: no overlong forms, no surrogates, nothing beyond U+10FFFF.
#pragma once

#include <cstddef>
#include <string_view>

namespace nightferry::fhir::json {

// Where the first byte sequence stands that is no character, or npos.
std::size_t find_invalid_utf8(std::string_view text);

}  // namespace nightferry::fhir::json
