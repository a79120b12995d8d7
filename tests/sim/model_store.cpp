#include "tests/sim/model_store.hpp"

#include <algorithm>
#include <cassert>

namespace nightferry::sim {

namespace {

constexpr std::uint32_t nowhere = UINT32_MAX;

std::string place_key(std::string_view type, std::string_view id) {
    std::string key;
    key.reserve(type.size() + 1 + id.size());
    return key.append(type).append(1, '/').append(id);
}

// No separator is needed that could not stand in a system or value: what is found is compared again.
std::string identifier_key(std::string_view type, std::string_view system, std::string_view value) {
    std::string key;
    key.reserve(type.size() + system.size() + value.size() + 2);
    return key.append(type).append(1, '|').append(system).append(1, '|').append(value);
}

}  // namespace

bool StoredResource::bears(std::string_view system, std::string_view value) const {
    const auto& all = newest().identifiers;
    return std::any_of(all.begin(), all.end(), [&](const Identifier& identifier) {
        return identifier.system == system && identifier.value == value;
    });
}

std::uint32_t ModelStore::position(std::string_view type, std::string_view id) const {
    const auto found = by_place_.find(place_key(type, id));
    return found == by_place_.end() ? nowhere : found->second;
}

const StoredResource* ModelStore::find(std::string_view type, std::string_view id) const {
    const std::uint32_t at = position(type, id);
    return at == nowhere ? nullptr : &resources_[at];
}

std::vector<const StoredResource*> ModelStore::bearing(std::string_view type, std::string_view system,
                                                       std::string_view value) const {
    std::vector<const StoredResource*> found;
    const auto known = by_identifier_.find(identifier_key(type, system, value));
    if (known == by_identifier_.end()) return found;
    for (const std::uint32_t at : known->second) {
        const StoredResource& resource = resources_[at];
        if (!resource.is_deleted() && resource.type == type && resource.bears(system, value))
            found.push_back(&resource);
    }
    return found;
}

std::vector<const StoredResource*> ModelStore::all(std::string_view type) const {
    std::vector<const StoredResource*> found;
    const auto known = by_type_.find(std::string(type));
    if (known == by_type_.end()) return found;
    for (const std::uint32_t at : known->second) {
        if (!resources_[at].is_deleted()) found.push_back(&resources_[at]);
    }
    return found;
}

std::size_t ModelStore::count(std::string_view type) const {
    const auto known = living_.find(std::string(type));
    return known == living_.end() ? 0 : known->second;
}

const StoredResource& ModelStore::add(std::string_view type, std::string_view id, StoredVersion version) {
    const auto next = static_cast<std::uint32_t>(resources_.size());
    const auto [entry, is_new] = by_place_.try_emplace(place_key(type, id), next);
    const std::uint32_t at = entry->second;
    if (is_new) {
        resources_.push_back({std::string(type), std::string(id), {}});
        by_type_[std::string(type)].push_back(at);
    }
    for (const Identifier& identifier : version.identifiers) {
        Positions& bearers = by_identifier_[identifier_key(type, identifier.system, identifier.value)];
        if (std::find(bearers.begin(), bearers.end(), at) == bearers.end()) bearers.push_back(at);
    }
    StoredResource& resource = resources_[at];
    const bool was_there = !is_new && !resource.is_deleted();
    if (was_there != !version.deleted) version.deleted ? --living_[resource.type] : ++living_[resource.type];
    resource.history.push_back(std::move(version));
    return resource;
}

void ModelStore::take_back(std::string_view type, std::string_view id) {
    const std::uint32_t at = position(type, id);
    assert(at != nowhere);
    StoredResource& resource = resources_[at];
    const StoredVersion last = std::move(resource.history.back());
    resource.history.pop_back();
    const bool is_there = !resource.history.empty() && !resource.is_deleted();
    if (is_there != !last.deleted) last.deleted ? ++living_[resource.type] : --living_[resource.type];
    for (const Identifier& identifier : last.identifiers) {
        const bool still_needed =
            std::any_of(resource.history.begin(), resource.history.end(), [&](const StoredVersion& version) {
                return std::find(version.identifiers.begin(), version.identifiers.end(), identifier) !=
                       version.identifiers.end();
            });
        if (!still_needed)
            std::erase(by_identifier_[identifier_key(type, identifier.system, identifier.value)], at);
    }
    if (!resource.history.empty()) return;
    assert(at + 1 == resources_.size());
    by_type_[std::string(type)].pop_back();
    by_place_.erase(place_key(type, id));
    resources_.pop_back();
}

void ModelStore::amend(std::string_view type, std::string_view id, std::string text) {
    const std::uint32_t at = position(type, id);
    assert(at != nowhere);
    resources_[at].history.back().text = std::make_shared<const std::string>(std::move(text));
}

}  // namespace nightferry::sim
