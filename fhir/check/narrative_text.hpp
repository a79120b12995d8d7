// The characters of a narrative's texts and attribute values, in which references such as &amp; and &#x6A;
// stand for others.
#pragma once

#include <string_view>

namespace nightferry::fhir::check {

// Every & begins a reference, by a name of XHTML or by number, that ends with a semicolon.
bool references_are_whole(std::string_view text);

// A link that does something else than lead elsewhere, read as browsers do: they resolve references and skip
// white space and control characters before they look at the scheme, whose case they ignore.
bool runs_script(std::string_view link);

}  // namespace nightferry::fhir::check
