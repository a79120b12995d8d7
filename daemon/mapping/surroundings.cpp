#include "daemon/mapping/surroundings.hpp"

#include <algorithm>

#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::mapping {

namespace json = fhir::json;
using fhir::resource::Identifier;
using fhir::resource::Reference;

namespace {

bool is_web_address(std::string_view text) {
    return text.starts_with("https://") || text.starts_with("http://");
}

bool is_absolute(std::string_view reference) {
    return is_web_address(reference) || reference.starts_with("urn:");
}

// "Patient/p1"
std::string literal_of(const json::Value& resource) {
    const std::string_view id = resource.string_at("id");
    return id.empty() ? std::string()
                      : std::string(resource.string_at("resourceType")) + "/" + std::string(id);
}

// The server's base address, where the full URL tells it.
std::string base_of(const Source& source) {
    const std::string ending = "/" + literal_of(*source.resource);
    if (!is_web_address(source.full_url) || ending.size() == 1 || !source.full_url.ends_with(ending))
        return {};
    return source.full_url.substr(0, source.full_url.size() - ending.size());
}

std::string without_version(std::string_view reference) {
    return std::string(reference.substr(0, reference.find("/_history/")));
}

std::string resolved(const std::string& reference, const Source& from) {
    const std::string plain = without_version(reference);
    const std::string base = base_of(from);
    return is_absolute(plain) || plain.starts_with('#') || base.empty() ? plain : base + "/" + plain;
}

}  // namespace

Surroundings::Surroundings(const json::Value& root) {
    if (root.string_at("resourceType") != "Bundle") {
        sources_.push_back({&root, {}, nullptr});
        return;
    }
    for (const json::Value& entry : root.items_at("entry")) {
        const Source source{entry.find("resource"), std::string(entry.string_at("fullUrl")), &entry};
        const std::size_t index = sources_.size();
        sources_.push_back(source);
        if (source.resource == nullptr) continue;
        if (!source.full_url.empty()) by_url_.emplace(source.full_url, index);
        const auto [place, is_new] = by_literal_.emplace(literal_of(*source.resource), index);
        if (!is_new) place->second.reset();
    }
}

const Source* Surroundings::find(const std::string& address) const {
    if (const auto found = by_url_.find(address); found != by_url_.end()) return &sources_[found->second];
    if (is_absolute(address)) return nullptr;
    const auto found = by_literal_.find(address);
    return found == by_literal_.end() || !found->second ? nullptr : &sources_[*found->second];
}

std::optional<Source> Surroundings::target(const std::string& reference, const Source& from) const {
    if (reference.empty()) return std::nullopt;
    if (reference.starts_with('#')) {
        for (const json::Value& contained : from.resource->items_at("contained")) {
            if (contained.string_at("id") == std::string_view(reference).substr(1))
                return Source{&contained, {}, nullptr};
        }
        return std::nullopt;
    }
    const Source* found = find(resolved(reference, from));
    return found == nullptr ? std::nullopt : std::optional(*found);
}

Named Surroundings::named(const Reference& reference, const Source& from) const {
    Named named;
    if (!reference.reference.empty() && !reference.reference.starts_with('#'))
        named.references.push_back(resolved(reference.reference, from));
    if (reference.identifier) named.identifiers.push_back(*reference.identifier);
    if (const auto found = target(reference.reference, from)) {
        if (is_web_address(found->full_url)) named.references.push_back(found->full_url);
        for (const Identifier& one : fhir::resource::identifiers_of(*found->resource, "identifier"))
            named.identifiers.push_back(one);
    }
    return named;
}

std::optional<EntryId> entry_of(const Identifier& identifier, const entry::Household& household,
                                std::string_view own_system) {
    if (identifier.system.empty() || identifier.value.empty()) return std::nullopt;
    const bool is_uri = identifier.system == "urn:ietf:rfc:3986";
    if (identifier.system == own_system || is_uri) {
        const auto uuid = EntryId::parse(identifier.value);
        if (uuid || !is_uri) return uuid;
    }
    return household.ids().id_for("identifier:" + identifier.system + "|" + identifier.value);
}

std::optional<EntryId> entry_of(const Source& source, const entry::Household& household,
                                std::string_view own_system) {
    auto identifiers = fhir::resource::identifiers_of(*source.resource, "identifier");
    std::stable_partition(identifiers.begin(), identifiers.end(),
                          [&](const Identifier& one) { return one.system == own_system; });
    for (const Identifier& one : identifiers) {
        if (const auto id = entry_of(one, household, own_system)) return id;
    }
    const std::string literal = literal_of(*source.resource);
    if (literal.empty()) return std::nullopt;
    return household.ids().id_for("resource:" + (base_of(source).empty() ? literal : source.full_url));
}

}  // namespace nightferry::mapping
