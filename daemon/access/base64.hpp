// Bytes as text (RFC 4648).
#pragma once

#include <string>
#include <string_view>

namespace nightferry::access {

// Section 4: the usual alphabet, padded with '='.
std::string base64(std::string_view bytes);
// Section 5: the alphabet for addresses and file names, without padding, as JWS and JWK write it.
std::string base64url(std::string_view bytes);

}  // namespace nightferry::access
