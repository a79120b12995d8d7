// What a server says it can do: the answer to GET [base]/metadata
// (https://hl7.org/fhir/R4/capabilitystatement.html; among what is read here, R4B and R5 are the same).
//
// Servers claim more and less than they do. A caller takes a statement as a hint, never as a promise.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fhir/json/document.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::fhir::resource {

struct CapabilityStatement {
    struct SearchParameter {
        std::string name;
        std::string type;  // search-param-type: "token", "reference", …
    };
    // What it can do with one type of resource.
    struct Type {
        std::string name;
        std::vector<std::string> interactions;  // type-restful-interaction: "read", "create", …
        std::string versioning;                 // "no-version", "versioned", "versioned-update", or empty.
        std::optional<bool> update_create;
        std::optional<bool> conditional_create;
        std::optional<bool> conditional_update;
        std::vector<SearchParameter> search_parameters;
        std::vector<std::string> operations;  // Names, without "$".

        bool can(std::string_view interaction) const;
        bool can_search_by(std::string_view parameter) const;
    };

    std::string fhir_version;              // As written: "4.0.1".
    std::optional<spec::Release> release;  // Nothing when this library does not know that version.
    std::string software_name;
    std::string software_version;
    std::vector<std::string> formats;       // As written: "json", "application/fhir+json", …
    std::vector<std::string> interactions;  // system-restful-interaction: "transaction", "batch", …
    // Codes of how to sign in ("SMART-on-FHIR", "OAuth", "Certificates"), or the words where there is no
    // code.
    std::vector<std::string> security_services;
    std::vector<Type> types;
    std::vector<std::string> operations;  // Of the whole system.

    bool can(std::string_view interaction) const;
    const Type* type(std::string_view name) const;
    // Whether it speaks JSON, or does not say what it speaks.
    bool speaks_json() const;
};

// Of the server's part of the statement (rest.mode "server"); nothing when the value is no statement.
// What has no name is left out.
std::optional<CapabilityStatement> read_capability_statement(const json::Value& value);

}  // namespace nightferry::fhir::resource
