// Following the links of a searchset without leaving the server (https://hl7.org/fhir/R4/http.html#paging).
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace nightferry::fhir::exchange {

// Where a link in the answer to `asked` leads. `asked` and the result are what stands behind the server's
// base URL ("/Observation?identifier=7"), so that the link can be followed over the connection that is
// trusted already. The link may be absolute, begin at the host ("/fhir/…") or be relative to what was asked
// (RFC 3986 section 5). Nothing when it leads to another server or out of the base: asking there could carry
// a patient's data to anybody.
//
// http and https count as the same, as FHIR has it (https://hl7.org/fhir/R4/http.html#general), since servers
// behind a proxy give the address that they see themselves.
std::optional<std::string> target_within(std::string_view base_url, std::string_view asked,
                                         std::string_view link);

}  // namespace nightferry::fhir::exchange
