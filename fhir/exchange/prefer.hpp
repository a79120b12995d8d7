// What a client would like to get back for a create, an update or a bundle
// (https://hl7.org/fhir/R4/http.html#prefer, RFC 7240). A server may do otherwise.
#pragma once

#include <cstdint>
#include <string_view>

namespace nightferry::fhir::exchange {

enum class Return : std::uint8_t { minimal, representation, operation_outcome };

// The value of the Prefer header: "return=minimal".
std::string_view prefer(Return wanted);

}  // namespace nightferry::fhir::exchange
