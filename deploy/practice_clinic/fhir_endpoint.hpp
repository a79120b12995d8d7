// The practice clinic's FHIR side: requests in, answers out, as FHIR's HTTP page describes them.
//
// Done: metadata, read, search by identifier, conditional create, update (also of a new id), transactions
// with conditional create, ifMatch and urn:uuid references, $validate. Everything else is refused in words.
#pragma once

#include <functional>
#include <string>

#include "daemon/core/http.hpp"
#include "deploy/practice_clinic/record_store.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::practice {

class FhirEndpoint {
 public:
    // Serves below `base` ("/fhir") and takes what is valid in this release.
    FhirEndpoint(RecordStore& store, std::string base, fhir::spec::Release release = fhir::spec::Release::r4)
        : store_(store), base_(std::move(base)), release_(release) {}

    HttpAnswer answer(const HttpRequest& request);

 private:
    struct Outcome {
        int status = 0;
        const Stored* stored = nullptr;
        std::string words;  // For a refusal.
    };
    HttpAnswer transaction(const HttpRequest& request);
    HttpAnswer single(const Outcome& outcome) const;
    HttpAnswer verdict(const fhir::json::Value& resource) const;
    Outcome create(const fhir::json::Value& resource, std::string_view type, std::string_view if_none_exist);
    Outcome update(const fhir::json::Value& resource, std::string_view type, std::string_view id,
                   std::string_view if_match);
    HttpAnswer search(std::string_view type, std::string_view query) const;

    RecordStore& store_;
    const std::string base_;
    const fhir::spec::Release release_;
};

}  // namespace nightferry::practice
