// Writing a Document back to text: UTF-8, numbers as they were read, members in order.
#pragma once

#include <string>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::json {

// Without any white space: what goes over the wire and into the logbook.
std::string write(const Value& value);

// Indented by two spaces with a final line feed: what people read.
std::string write_pretty(const Value& value);

}  // namespace nightferry::fhir::json
