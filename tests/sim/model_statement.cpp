// What a model clinic answers to GET [base]/metadata.
#include "tests/sim/model_text.hpp"

namespace nightferry::sim {

namespace {

const std::vector<std::string>& usual_types() {
    static const std::vector<std::string> types{
        "Patient",           "Practitioner", "RelatedPerson", "Device", "MedicationAdministration",
        "MedicationRequest", "Observation",  "Provenance"};
    return types;
}

std::string interactions(std::initializer_list<std::pair<bool, std::string_view>> shown) {
    std::string out;
    for (const auto& [is_shown, code] : shown) {
        if (!is_shown) continue;
        out += out.empty() ? R"("interaction":[{"code":)" : R"(,{"code":)";
        append_quoted(out, code);
        out += '}';
    }
    return out.empty() ? out : out + ']';
}

std::string type_text(const Claims& claims, std::string_view type) {
    std::string out = R"({"type":)" + in_quotes(type);
    const std::string can = interactions({{claims.read, "read"},
                                          {claims.create, "create"},
                                          {claims.update, "update"},
                                          {claims.search, "search-type"}});
    if (!can.empty()) out += ',' + can;
    if (!claims.versioning.empty()) out += R"(,"versioning":)" + in_quotes(claims.versioning);
    if (claims.says_conditions) {
        out += R"(,"updateCreate":)";
        out += claims.update_create ? "true" : "false";
        out += R"(,"conditionalCreate":)";
        out += claims.conditional_create ? "true" : "false";
    }
    if (claims.search_by_identifier) out += R"(,"searchParam":[{"name":"identifier","type":"token"}])";
    return out + '}';
}

std::string statement_text(const Claims& claims) {
    std::string out = R"({"resourceType":"CapabilityStatement","status":"active","date":"2026-01-01",)"
                      R"("kind":"instance","implementation":{"description":"Model clinic"},)"
                      R"("fhirVersion":"4.0.1","format":["application/fhir+json"],)"
                      R"("rest":[{"mode":"server","resource":[)";
    bool first = true;
    for (const std::string& type : claims.types.empty() ? usual_types() : claims.types) {
        if (type == "Provenance" && !claims.provenance) continue;
        if (!first) out += ',';
        first = false;
        out += type_text(claims, type);
    }
    out += ']';
    const std::string can = interactions({{claims.transaction, "transaction"}, {claims.batch, "batch"}});
    if (!can.empty()) out += ',' + can;
    return out + "}]}";
}

}  // namespace

std::string metadata_text(const Dialect& dialect) {
    switch (dialect.claims.metadata) {
        case Metadata::readable:
            return statement_text(dialect.claims);
        case Metadata::absent:
            return outcome_text("not-found", "there is no such address");
        case Metadata::broken:
            return outcome_text("exception", "the statement could not be made");
        case Metadata::web_page:
            return std::string(web_page(200));
        case Metadata::other_resource:
            return R"({"resourceType":"Patient","id":"1"})";
        case Metadata::truncated: {
            std::string text = statement_text(dialect.claims);
            text.resize(text.size() / 2);
            return text;
        }
    }
    return {};
}

int metadata_status(Metadata metadata) {
    if (metadata == Metadata::absent) return 404;
    return metadata == Metadata::broken ? 500 : 200;
}

}  // namespace nightferry::sim
