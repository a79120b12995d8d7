#include "daemon/mapping/element.hpp"

#include <cctype>

#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::mapping {

namespace json = fhir::json;

namespace {

constexpr std::string_view not_in_an_entry =
    "an entry has no place for this, and nothing is dropped in silence; leave it out, or say in note what "
    "the clinic needs of it";

bool is_choice_of(std::string_view member, std::string_view name) {
    return member.size() > name.size() && member.starts_with(name) &&
           std::isupper(static_cast<unsigned char>(member[name.size()])) != 0;
}

bool is_modifier(std::string_view member) {
    return member == "modifierExtension" || member == "implicitRules";
}

// What refuse_extensions() tells about.
bool is_extension(std::string_view member) {
    return is_modifier(member) || member == "extension" || member.starts_with('_');
}

}  // namespace

const json::Value* Element::take(std::string_view name) {
    taken_.insert(name);
    return value_.find(name);
}

std::optional<Element::Choice> Element::choice(std::string_view name) {
    if (!value_.is(json::Kind::object)) return std::nullopt;
    for (const json::Value& member : value_) {
        if (!is_choice_of(member.name(), name)) continue;
        taken_.insert(member.name());
        return Choice{member.name().substr(name.size()), &member};
    }
    return std::nullopt;
}

std::string Element::text(std::string_view name) {
    const json::Value* member = take(name);
    if (member != nullptr && member->is(json::Kind::boolean)) return member->boolean() ? "true" : "false";
    return fhir::resource::text_of(value_, name);
}

fhir::resource::CodeableConcept Element::concept_at(std::string_view name) {
    take(name);
    return fhir::resource::concept_of(value_, name);
}

fhir::resource::Reference Element::reference_at(std::string_view name) {
    take(name);
    return fhir::resource::reference_of(value_, name);
}

std::vector<Element> Element::items(std::string_view name) {
    std::vector<Element> all;
    const json::Value* member = take(name);
    const bool is_list = member != nullptr && member->is(json::Kind::array);
    for (const json::Value& item : value_.items_at(name)) {
        const std::string index = is_list ? "[" + std::to_string(all.size()) + "]" : "";
        all.emplace_back(item, path_of(name) + index, draft_);
    }
    return all;
}

void Element::pass_over(std::initializer_list<std::string_view> names) {
    taken_.insert(names);
}

void Element::put(std::string_view field, std::string text, std::string_view name) {
    draft_.fields.push_back({std::string(field), std::move(text), path_of(name)});
}

void Element::refuse(std::string_view name, std::string what,
                     std::initializer_list<std::string_view> fields) {
    draft_.problems.push_back({name.empty() ? path_ : path_of(name), std::move(what)});
    draft_.unreadable.insert(draft_.unreadable.end(), fields.begin(), fields.end());
}

void Element::refuse_leftovers() {
    if (!value_.is(json::Kind::object)) return;
    for (const json::Value& member : value_) {
        if (!taken_.contains(member.name()) && !is_extension(member.name()))
            refuse(member.name(), std::string(not_in_an_entry));
    }
}

void refuse_extensions(const json::Value& value, const std::string& path, entry::Draft& draft) {
    std::size_t index = 0;
    for (const json::Value& child : value) {
        if (value.is(json::Kind::array)) {
            refuse_extensions(child, path + "[" + std::to_string(index++) + "]", draft);
            continue;
        }
        const std::string_view name = child.name();
        const std::string place = path + "." + std::string(name);
        if (is_modifier(name)) {
            draft.problems.push_back(
                {place,
                 "this may change what the resource means, and this hub does not know it; leave it "
                 "out, or record by other means"});
        } else if (name == "extension") {
            draft.problems.push_back({place,
                                      "extensions are not kept, and nothing is dropped in silence; "
                                      "leave it out, or say in note what the clinic needs of it"});
        } else if (name.starts_with('_')) {
            draft.problems.push_back({path + "." + std::string(name.substr(1)),
                                      "extensions are not kept, and nothing is dropped in silence; leave "
                                      "them out"});
        } else if (name != "text" && name != "contained") {
            refuse_extensions(child, place, draft);
        }
    }
}

}  // namespace nightferry::mapping
