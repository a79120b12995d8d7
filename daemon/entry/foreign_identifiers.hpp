// The names under which others know an entry, as the one text that the entry format has for them: a line
// "system|value" each, as FHIR searches write an identifier (https://hl7.org/fhir/R4/search.html#token).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/entry/entry.hpp"

namespace nightferry::entry {

// Whether such an identifier can be written on one line and read again.
bool can_be_written(const ForeignIdentifier& identifier);

std::string lines_of(const std::vector<ForeignIdentifier>& identifiers);

// Nothing when a line has another form, or one comes twice.
std::optional<std::vector<ForeignIdentifier>> identifiers_in(std::string_view lines);

}  // namespace nightferry::entry
