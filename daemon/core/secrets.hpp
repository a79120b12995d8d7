// Digests of secrets, so that what is kept does not tell them, and comparing without a hint.
#pragma once

#include <string>
#include <string_view>

namespace nightferry {

// Two lower-case hexadecimal digits for each byte.
std::string to_hex(std::string_view bytes);

// SHA-256 (FIPS 180-4) as 64 hexadecimal digits. It fails for want of memory or of the algorithm only, and
// then throws: nothing may go on without it.
std::string sha256(std::string_view text);

// Takes as long wherever the two differ; that their lengths differ shows.
bool is_same_secret(std::string_view one, std::string_view other);

}  // namespace nightferry
