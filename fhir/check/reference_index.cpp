#include "fhir/check/reference_index.hpp"

namespace nightferry::fhir::check {

ReferenceIndex ReferenceIndex::of_contained(const json::Value& resource) {
    ReferenceIndex index;
    index.contained_ = resource.find("contained");
    return index;
}

ReferenceIndex ReferenceIndex::of_entries(const json::Value& bundle) {
    ReferenceIndex index;
    index.entries_ = bundle.find("entry");
    return index;
}

void ReferenceIndex::build() {
    if (contained_ != nullptr) {
        for (const json::Value& one : *contained_)
            add(one.string_at("id"), one);
        contained_ = nullptr;
    }
    if (entries_ != nullptr) {
        for (const json::Value& entry : *entries_) {
            if (const json::Value* resource = entry.find("resource"))
                add(entry.string_at("fullUrl"), *resource);
        }
        entries_ = nullptr;
    }
}

void ReferenceIndex::add(std::string_view key, const json::Value& resource) {
    if (key.empty()) return;
    const std::string_view type = resource.string_at("resourceType");
    const auto [at, is_new] = items_.emplace(key, Item{&resource, type});
    if (is_new) return;
    at->second.resource = nullptr;
    if (at->second.type != type) at->second.type = {};
}

bool ReferenceIndex::knows(std::string_view key) {
    build();
    return items_.contains(key);
}

std::string_view ReferenceIndex::type_of(std::string_view key) {
    build();
    const auto found = items_.find(key);
    return found == items_.end() ? std::string_view() : found->second.type;
}

const json::Value* ReferenceIndex::find(std::string_view key) {
    build();
    const auto found = items_.find(key);
    return found == items_.end() ? nullptr : found->second.resource;
}

}  // namespace nightferry::fhir::check
