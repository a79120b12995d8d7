#include "fhir/exchange/search.hpp"

#include <algorithm>
#include <charconv>

#include "fhir/exchange/etag.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::exchange {

namespace {

std::optional<Found> found_in(const json::Value& resource) {
    const auto type = resource.string_at("resourceType");
    const auto id = resource.string_at("id");
    if (!is_type_name(type) || !is_id(id)) return std::nullopt;
    const json::Value* meta = resource.find("meta");
    const auto version = meta == nullptr ? std::string_view() : meta->string_at("versionId");
    return Found{{std::string(type), std::string(id), version_in_etag(version)}, &resource};
}

void add_issues(SearchAnswer& answer, const json::Value& outcome) {
    for (OutcomeIssue& issue : outcome_issues(outcome))
        answer.issues.push_back(std::move(issue));
}

void read_entry(SearchAnswer& answer, const json::Value& entry) {
    const json::Value* resource = entry.find("resource");
    if (resource == nullptr) return;
    const json::Value* search = entry.find("search");
    const auto mode = search == nullptr ? std::string_view() : search->string_at("mode");
    if (mode == "outcome" || resource->string_at("resourceType") == "OperationOutcome") {
        add_issues(answer, *resource);
    } else if (mode != "include") {
        if (auto found = found_in(*resource)) answer.matches.push_back(std::move(*found));
    }
}

std::optional<std::uint64_t> total_in(const json::Value& bundle) {
    const std::string text = resource::text_of(bundle, "total");
    std::uint64_t total = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), total);
    if (failure != std::errc() || end != text.data() + text.size()) return std::nullopt;
    return total;
}

}  // namespace

bool bears_identifier(const json::Value& resource, std::string_view system, std::string_view value) {
    const auto identifiers = resource::identifiers_of(resource, "identifier");
    return std::any_of(identifiers.begin(), identifiers.end(), [&](const resource::Identifier& one) {
        return one.system == system && one.value == value;
    });
}

std::optional<SearchAnswer> read_search_answer(std::string_view text) {
    auto document = json::read(text);
    if (!document) return std::nullopt;
    const json::Value& root = document->root();
    if (root.string_at("resourceType") != "Bundle" || root.string_at("type") != "searchset")
        return std::nullopt;
    SearchAnswer answer{std::move(*document), {}, {}, {}, {}};
    answer.total = total_in(root);
    for (const json::Value& link : root.items_at("link")) {
        if (link.string_at("relation") == "next" && answer.next.empty()) answer.next = link.string_at("url");
    }
    for (const json::Value& entry : root.items_at("entry"))
        read_entry(answer, entry);
    // R5 has a place of its own for them (https://hl7.org/fhir/R5/bundle-definitions.html#Bundle.issues).
    if (const json::Value* outcome = root.find("issues")) add_issues(answer, *outcome);
    return answer;
}

}  // namespace nightferry::fhir::exchange
