// One object of a resource while it is read into a draft: its members by name, each with the FHIRPath that
// people get to see. What nobody took is refused in the end, so that nothing is dropped in silence.
#pragma once

#include <initializer_list>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/entry/draft.hpp"
#include "fhir/json/document.hpp"
#include "fhir/resource/datatypes.hpp"

namespace nightferry::mapping {

class Element {
 public:
    // All three outlive the element; problems and fields go into `draft`.
    Element(const fhir::json::Value& value, std::string path, entry::Draft& draft)
        : value_(value), path_(std::move(path)), draft_(draft) {}

    const std::string& path() const { return path_; }
    const fhir::json::Value& value() const { return value_; }
    entry::Draft& draft() { return draft_; }
    // "Observation.code"
    std::string path_of(std::string_view name) const { return path_ + "." + std::string(name); }

    // A member, marked as taken; nullptr when absent.
    const fhir::json::Value* take(std::string_view name);
    // The member of a choice element, whatever its type ("DateTime", "Quantity").
    struct Choice {
        std::string_view type;
        const fhir::json::Value* value;
    };
    std::optional<Choice> choice(std::string_view name);
    // The text of a string, number or boolean; empty when absent.
    std::string text(std::string_view name);
    fhir::resource::CodeableConcept concept_at(std::string_view name);
    fhir::resource::Reference reference_at(std::string_view name);
    // The items of a list, each with its path; the member alone when it is none.
    std::vector<Element> items(std::string_view name);

    // Something that says nothing of its own.
    void pass_over(std::initializer_list<std::string_view> names);

    // A field of the entry, read from that member.
    void put(std::string_view field, std::string text, std::string_view name);
    // The member cannot be read as the entry needs it, nor can these fields be told from it.
    void refuse(std::string_view name, std::string what, std::initializer_list<std::string_view> fields = {});
    void refuse_leftovers();

 private:
    const fhir::json::Value& value_;
    std::string path_;
    entry::Draft& draft_;
    std::set<std::string_view> taken_;
};

// Refuses whatever may change a meaning, or would be lost: extensions anywhere, modifiers, implicit rules.
void refuse_extensions(const fhir::json::Value& value, const std::string& path, entry::Draft& draft);

}  // namespace nightferry::mapping
