// Tells whether a server holds what we sent.
#pragma once

#include <string_view>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::exchange {

// True when everything in `ours` is in `theirs` with the same value, and `theirs` adds nothing beyond what
// servers add themselves (id, meta, text). Decimals compare by value, since many servers drop trailing
// zeros; references compare by their end, since servers may put their base URL before them; a urn:uuid
// reference of ours matches any reference, since the server has replaced it. Display texts do not count: they
// name for people what a code or a reference says.
bool same_content(const json::Value& ours, const json::Value& theirs);

}  // namespace nightferry::fhir::exchange
