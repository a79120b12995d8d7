// What the text of a Reference says by itself (https://hl7.org/fhir/R4/references.html#literal).
#pragma once

#include <string_view>

namespace nightferry::fhir::check {

// The type in "Patient/1", "https://clinic.example/fhir/Patient/1/_history/2" or "Patient?identifier=x": the
// word before the id. It may be no type at all when the URL is not that of a FHIR server. Empty when there is
// none, and for an absolute URL that a FHIR server need not have.
std::string_view type_in_reference(std::string_view reference);

}  // namespace nightferry::fhir::check
