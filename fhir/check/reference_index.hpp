// Which resources lie behind the references that can be followed inside one document: the contained
// resources by their id, the entries of a bundle by their fullUrl. Built when the first one is asked for, so
// that most resources never pay for it.
#pragma once

#include <map>
#include <string_view>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::check {

class ReferenceIndex {
 public:
    ReferenceIndex() = default;  // Knows nothing.
    static ReferenceIndex of_contained(const json::Value& resource);
    static ReferenceIndex of_entries(const json::Value& bundle);

    bool knows(std::string_view key);
    // Empty when there is no such item, or when items of several types share the key.
    std::string_view type_of(std::string_view key);
    // nullptr when there is none, or more than one.
    const json::Value* find(std::string_view key);

 private:
    struct Item {
        const json::Value* resource = nullptr;  // The only one, or nullptr.
        std::string_view type;                  // Of all of them, or empty.
    };
    void build();
    void add(std::string_view key, const json::Value& resource);

    const json::Value* contained_ = nullptr;  // The lists not yet looked at.
    const json::Value* entries_ = nullptr;
    // Sorted and not hashed: whoever writes the document could choose keys that hash alike.
    std::map<std::string_view, Item> items_;
};

}  // namespace nightferry::fhir::check
