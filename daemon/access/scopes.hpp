// What a token allows: SMART scopes for systems
// (https://hl7.org/fhir/smart-app-launch/STU2/scopes-and-launch-context.html), in the form of version 1
// ("system/Observation.write") and of version 2 ("system/Observation.cu").
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace nightferry::access {

enum class ScopeForm { v1, v2 };

// What the hub does at a clinic: letters of SMART version 2, c(reate) r(ead) u(pdate) d(elete) s(earch).
struct Need {
    std::string_view type;
    std::string_view letters;
};
// For sending doses and findings and finding them again, their Provenance, and the patient.
const std::vector<Need>& usual_needs();
// For reading what the clinic has ordered, where the settings ask for that.
const std::vector<Need>& order_needs();

// The scopes to ask for, separated by blanks.
std::string scopes_for(const std::vector<Need>& needs, ScopeForm form);

// Whether it is about resources at all; what is only "openid" says nothing about them.
bool names_resources(std::string_view granted);

// What of the needs a granted scope leaves out, in the order of the needs; the letters that are missing, such
// as
// {"Observation", "cu"}. A scope that is limited to some resources of a type ("…?category=…") grants nothing
// here: nobody could tell which entries it lets through.
struct Missing {
    std::string type;
    std::string letters;
};
std::vector<Missing> missing_from(std::string_view granted, const std::vector<Need>& needs);

// "create and update Observation".
std::string in_words(const Missing& missing);

}  // namespace nightferry::access
