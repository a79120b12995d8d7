#include "daemon/sync/address_check.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"
#include "daemon/sync/fate.hpp"
#include "fhir/exchange/outcome.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/resource/capability_statement.hpp"

namespace nightferry::sync {

namespace json = fhir::json;
using Reached = NoAnswer::Reached;

namespace {

constexpr char correct_it[] = "; compare url in the settings with what the clinic gave";

bool is_page(const HttpAnswer& answer) {
    return header(answer.headers, "Content-Type").starts_with("text/html") ||
           trimmed(answer.body).starts_with('<');
}

NoAnswer page(const HttpAnswer& answer) {
    std::string words = "a web page answers where the clinic's server should say what it can do (HTTP " +
                        std::to_string(answer.status);
    const std::string said = fhir::exchange::server_words(answer.body);
    words += said.empty() ? ")" : ", it says: " + said + ")";
    return {Reached::no, words + "; sign in to the network if it asks that, or" + (correct_it + 1)};
}

// DSTU2 called its statement otherwise (https://hl7.org/fhir/DSTU2/conformance.html).
std::string words_for_resource(const json::Value& resource) {
    const std::string_view type = resource.string_at("resourceType");
    if (type == "Conformance") {
        return "the clinic's server says that it speaks FHIR " +
               in_quotes(resource.string_at("fhirVersion")) +
               " (DSTU2), which this hub does not; ask the clinic for the address of a newer one";
    }
    return "the clinic's server shows a " + in_quotes(type) +
           " where it should say what it can do, in a CapabilityStatement" + correct_it;
}

bool knows_nothing_of_ours(const fhir::resource::CapabilityStatement& statement) {
    return !statement.types.empty() && statement.type("MedicationAdministration") == nullptr &&
           statement.type("Observation") == nullptr;
}

std::optional<NoAnswer> no_use(const json::Value& resource) {
    const std::string_view type = resource.string_at("resourceType");
    // An error that a server tells with the wrong status.
    if (type.empty() || type == "OperationOutcome") return std::nullopt;
    const auto statement = fhir::resource::read_capability_statement(resource);
    if (!statement) return NoAnswer{Reached::untrusted, words_for_resource(resource)};
    if (!knows_nothing_of_ours(*statement)) return std::nullopt;
    return NoAnswer{
        Reached::untrusted,
        std::string("the clinic's server knows neither MedicationAdministration nor Observation, so it "
                    "takes nothing of what this hub sends") +
            correct_it};
}

}  // namespace

std::optional<NoAnswer> no_server_for_us(const HttpAnswer& answer) {
    const bool is_missing = answer.status == 404 || answer.status == 410;
    if (answer.status >= 300 && answer.status < 400)
        return NoAnswer{Reached::untrusted, words_for(Reply{answer})};
    if (answer.status != 200 && !is_missing) return std::nullopt;
    if (is_page(answer)) return page(answer);
    const auto document = json::read(answer.body);
    const bool is_object = document && document->root().is(json::Kind::object);
    if (answer.status == 200) return is_object ? no_use(document->root()) : std::nullopt;
    // A FHIR server would say it in an OperationOutcome.
    if (is_object && document->root().string_at("resourceType") == "OperationOutcome") return std::nullopt;
    return NoAnswer{Reached::untrusted, "there is no FHIR server at the clinic's address: HTTP " +
                                            std::to_string(answer.status) + " at /metadata" + correct_it};
}

}  // namespace nightferry::sync
