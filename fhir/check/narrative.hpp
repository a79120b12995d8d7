// The XHTML of Narrative.div (https://hl7.org/fhir/R4/narrative.html): well-formed, a div in the XHTML
// namespace (by xmlns on the div, without a prefix), only elements and attributes for showing text, nothing
// that acts, and something to read.
#pragma once

#include <cstdint>
#include <string_view>

namespace nightferry::fhir::check {

enum class NarrativeFault : std::uint8_t {
    none,
    not_well_formed,      // Tags that do not match, a bare & or <, a DOCTYPE, anything outside the div.
    not_a_div,            // Another root, or one outside the XHTML namespace.
    forbidden_element,    // script, form, object, ...: whatever is not basic formatting.
    forbidden_attribute,  // Event handlers and whatever else basic formatting does not have.
    active_link,          // A javascript: or similar link.
    nothing_to_read,      // White space only (published as txt-2; the others are txt-1).
};

// In a few words; empty for none.
std::string_view words_for(NarrativeFault fault);

NarrativeFault fault_in_narrative(std::string_view div);

}  // namespace nightferry::fhir::check
