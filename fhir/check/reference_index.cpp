#include "fhir/check/reference_index.hpp"

namespace nightferry::fhir::check {

namespace {

using Types = std::map<std::string_view, std::string_view>;

void add(Types& types, std::string_view key, const json::Value& resource) {
    if (key.empty()) return;
    const std::string_view type = resource.string_at("resourceType");
    const auto [at, is_new] = types.emplace(key, type);
    if (!is_new && at->second != type) at->second = {};
}

}  // namespace

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
            add(types_, one.string_at("id"), one);
        contained_ = nullptr;
    }
    if (entries_ != nullptr) {
        for (const json::Value& entry : *entries_) {
            if (const json::Value* resource = entry.find("resource"))
                add(types_, entry.string_at("fullUrl"), *resource);
        }
        entries_ = nullptr;
    }
}

bool ReferenceIndex::knows(std::string_view key) {
    build();
    return types_.contains(key);
}

std::string_view ReferenceIndex::type_of(std::string_view key) {
    build();
    const auto found = types_.find(key);
    return found == types_.end() ? std::string_view() : found->second;
}

}  // namespace nightferry::fhir::check
