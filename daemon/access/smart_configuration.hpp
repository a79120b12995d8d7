// What a FHIR server says of how to get a token: [base]/.well-known/smart-configuration
// (https://hl7.org/fhir/smart-app-launch/STU2/conformance.html).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/result.hpp"

namespace nightferry::access {

inline constexpr char smart_configuration_path[] = "/.well-known/smart-configuration";

struct SmartConfiguration {
    std::string token_endpoint;       // Absolute; relative ones are resolved against the FHIR base.
    std::string mtls_token_endpoint;  // For clients that show a certificate (RFC 8705 section 5); or empty.
    std::vector<std::string> grant_types;
    std::vector<std::string> auth_methods;        // Empty: it does not say.
    std::vector<std::string> signing_algorithms;  // Empty: it does not say.
    std::vector<std::string> capabilities;

    bool has_capability(std::string_view name) const;
};

// `base` is the FHIR base address. Errc::bad_input when the document is none, or lacks what is needed to get
// a token without a person.
Result<SmartConfiguration> read_smart_configuration(std::string_view body, const std::string& base);

}  // namespace nightferry::access
