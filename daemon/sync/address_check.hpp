// Whether a FHIR server of use to this hub answers at a clinic's address, by its answer to the question for
// its CapabilityStatement.
//
// Servers say all sorts of things about themselves, or nothing that can be read, and take records all the
// same; those are tried. Refused is what shows that nobody there can be meant: the next request would tell it
// a patient's number.
#pragma once

#include <optional>

#include "daemon/core/http.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::sync {

// Reached::untrusted: a person has to correct something. Reached::no: a web page, which may be that of a
// network on the way, and gone the next time.
std::optional<NoAnswer> no_server_for_us(const HttpAnswer& answer);

}  // namespace nightferry::sync
