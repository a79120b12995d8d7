// Invariants of Bundle, https://hl7.org/fhir/R4/bundle.html#invs. R5 split bdl-3 and bdl-4 into four rules
// and added more.
#include <algorithm>
#include <utility>
#include <vector>

#include "fhir/check/access.hpp"
#include "fhir/check/invariant_lists.hpp"

namespace nightferry::fhir::check {

namespace {

using json::Value;
using spec::Release;

bool is_one_of(std::string_view word, std::initializer_list<std::string_view> words) {
    return std::find(words.begin(), words.end(), word) != words.end();
}

template <class Holds>
bool all_entries(const Value& bundle, Holds holds) {
    return std::ranges::all_of(bundle.items_at("entry"), holds);
}

const Value* first_resource(const Value& bundle) {
    const Value* entries = bundle.find("entry");
    if (entries == nullptr || entries->size() == 0) return nullptr;
    return entries->front().find("resource");
}

bool first_is(const Value& bundle, std::string_view type) {
    const Value* resource = first_resource(bundle);
    return resource != nullptr && resource->string_at("resourceType") == type;
}

// fullUrl together with the resource's version tells entries apart (bdl-7).
bool entries_are_distinct(const Value& bundle) {
    std::vector<std::pair<std::string_view, std::string_view>> seen;
    for (const Value& entry : bundle.items_at("entry")) {
        const std::string_view url = entry.string_at("fullUrl");
        if (url.empty()) continue;
        const Value* resource = entry.find("resource");
        const Value* meta = resource == nullptr ? nullptr : resource->find("meta");
        seen.emplace_back(url, meta == nullptr ? std::string_view() : meta->string_at("versionId"));
    }
    std::sort(seen.begin(), seen.end());
    return std::adjacent_find(seen.begin(), seen.end()) == seen.end();
}

void documents(const Value& bundle, const Place& place, const Scope& scope) {
    const Value* identifier = bundle.find("identifier");
    demand(identifier != nullptr && present(*identifier, "system") && present(*identifier, "value"), "bdl-9",
           place, scope, "a document has an identifier with system and value");
    demand(bundle.find("timestamp") != nullptr, "bdl-10", place, scope, "a document has a timestamp");
    demand(first_is(bundle, "Composition"), "bdl-11", place, scope, "a document starts with its Composition");
    if (scope.release == Release::r5)
        demand(!present(bundle, "issues"), "bdl-17", place, scope, "a document has no issues");
}

void requests_and_answers(const Value& bundle, std::string_view type, const Place& place,
                          const Scope& scope) {
    const bool requests = is_one_of(type, {"batch", "transaction", "history"});
    const bool answers = is_one_of(type, {"batch-response", "transaction-response", "history"});
    demand(all_entries(bundle, [&](const Value& one) { return present(one, "request") == requests; }),
           "bdl-3", place, scope, "entries have a request exactly in batches, transactions and histories");
    demand(all_entries(bundle, [&](const Value& one) { return present(one, "response") == answers; }),
           "bdl-4", place, scope, "entries have a response exactly in answers and histories");
}

std::string_view method_of(const Value& entry) {
    const Value* request = entry.find("request");
    return request == nullptr ? std::string_view() : request->string_at("method");
}

bool resource_fits_method(const Value& entry) {
    return is_one_of(method_of(entry), {"POST", "PUT", "PATCH"}) == present(entry, "resource");
}

void requests_and_answers_r5(const Value& bundle, std::string_view type, const Place& place,
                             const Scope& scope) {
    if (is_one_of(type, {"document", "message", "searchset", "collection"})) {
        const auto resource_only = [](const Value& one) {
            return present(one, "resource") && !present(one, "request") && !present(one, "response");
        };
        demand(all_entries(bundle, resource_only), "bdl-3a", place, scope,
               "entries of this type of bundle have a resource and neither request nor response");
    } else if (type == "history") {
        const auto both = [](const Value& one) {
            return present(one, "request") && present(one, "response") && resource_fits_method(one);
        };
        demand(
            all_entries(bundle, both), "bdl-3b", place, scope,
            "entries of a history have request and response, and a resource exactly for POST, PUT and PATCH");
    } else if (is_one_of(type, {"transaction", "batch"})) {
        const auto asked = [](const Value& one) {
            return !method_of(one).empty() && resource_fits_method(one);
        };
        demand(all_entries(bundle, asked), "bdl-3c", place, scope,
               "entries to be processed have a request, and a resource exactly for POST, PUT and PATCH");
    } else if (is_one_of(type, {"transaction-response", "batch-response"})) {
        demand(all_entries(bundle, [](const Value& one) { return present(one, "response"); }), "bdl-3d",
               place, scope, "entries of an answer have a response");
    }
}

bool only_hints(const Value& issues) {
    return std::ranges::all_of(issues.items_at("issue"), [](const Value& issue) {
        // A missing severity is reported where it is missing.
        return is_one_of(issue.string_at("severity"), {"", "information", "warning"});
    });
}

bool links_to_itself(const Value& bundle) {
    return std::ranges::any_of(bundle.items_at("link"), [](const Value& link) {
        return link.string_at("relation") == "self" && present(link, "url");
    });
}

void new_in_r5(const Value& bundle, std::string_view type, const Place& place, const Scope& scope) {
    demand(type != "subscription-notification" || first_is(bundle, "SubscriptionStatus"), "bdl-13", place,
           scope, "a notification starts with its SubscriptionStatus");
    demand(
        type != "history" || all_entries(bundle, [](const Value& one) { return method_of(one) != "PATCH"; }),
        "bdl-14", place, scope, "a history has no PATCH");
    const bool may_lack_url =
        is_one_of(type, {"transaction", "transaction-response", "batch", "batch-response"});
    const auto has_url = [](const Value& one) { return present(one, "fullUrl") || method_of(one) == "POST"; };
    demand(may_lack_url || all_entries(bundle, has_url), "bdl-15", place, scope,
           "entries have a fullUrl but where a server gives it");
    const Value* issues = bundle.find("issues");
    demand(issues == nullptr || only_hints(*issues), "bdl-16", place, scope,
           "the issues of a bundle are information or warnings");
    demand(type != "searchset" || links_to_itself(bundle), "bdl-18", place, scope,
           "a search result has a self link");
}

void bundle(const Value& object, const Place& place, const Scope& scope) {
    const std::string_view type = object.string_at("type");
    demand(type == "history" || entries_are_distinct(object), "bdl-7", place, scope,
           "fullUrl and version together are different for every entry");
    // The other rules ask what type it is, and that there is none has been reported or explained.
    if (type.empty()) return;
    demand(!present(object, "total") || is_one_of(type, {"searchset", "history"}), "bdl-1", place, scope,
           "only search results and histories have a total");
    demand(
        type == "searchset" || all_entries(object, [](const Value& one) { return !present(one, "search"); }),
        "bdl-2", place, scope, "only entries of search results have search details");
    if (type == "document") documents(object, place, scope);
    demand(type != "message" || first_is(object, "MessageHeader"), "bdl-12", place, scope,
           "a message starts with its MessageHeader");
    if (scope.release == Release::r5) {
        requests_and_answers_r5(object, type, place, scope);
        new_in_r5(object, type, place, scope);
    } else {
        requests_and_answers(object, type, place, scope);
    }
}

void entry(const Value& object, const Place& place, const Scope& scope) {
    demand(present(object, "resource") || present(object, "request") || present(object, "response"), "bdl-5",
           place, scope, "an entry has a resource, a request or a response");
    demand(object.string_at("fullUrl").find("/_history/") == std::string_view::npos, "bdl-8", place, scope,
           "a fullUrl does not name a version");
}

constexpr NamedInvariant list[] = {
    {"Bundle", bundle},
    {"Bundle.entry", entry},
};

}  // namespace

std::span<const NamedInvariant> bundle_invariants() {
    return list;
}

}  // namespace nightferry::fhir::check
