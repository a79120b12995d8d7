// Media types of FHIR exchanges (https://hl7.org/fhir/R4/http.html#mime-type,
// https://hl7.org/fhir/R4/http.html#version-parameter; syntax: RFC 9110 section 8.3.1).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "fhir/spec/release.hpp"

namespace nightferry::fhir::exchange {

// For Accept and Content-Type: "application/fhir+json; fhirVersion=4.0".
std::string fhir_json(spec::Release release);

struct MediaType {
    enum class Format : std::uint8_t {
        none,       // No media type was given, or none that can be read.
        fhir_json,  // Also by the name it had before FHIR 3, application/json+fhir.
        json,       // Other JSON, which may well be FHIR: some servers and proxies say no more.
        fhir_xml,
        xml,
        html,
        text,
        other,
    };

    Format format = Format::none;
    std::string name;          // "application/fhir+json", in lower case.
    std::string charset;       // In lower case; empty when not given.
    std::string fhir_version;  // As given: "4.0".
    std::optional<spec::Release> release;

    // Whether a FHIR resource in JSON can be expected in such a body. A body without a media type may hold
    // one.
    bool may_be_fhir_json() const;
};

// The media type in a Content-Type header; the first one when a header wrongly lists several.
MediaType read_media_type(std::string_view header);

}  // namespace nightferry::fhir::exchange
