#include "fhir/json/document.hpp"

#include <cassert>
#include <cstring>

namespace nightferry::fhir::json {

std::string_view words_for(Kind kind) {
    switch (kind) {
        case Kind::null:
            return "null";
        case Kind::boolean:
            return "true or false";
        case Kind::number:
            return "a number";
        case Kind::string:
            return "a text";
        case Kind::array:
            return "a list";
        case Kind::object:
            return "an object";
    }
    return "a value";
}

Document::Document(Kind root, std::size_t arena_bytes)
    : arena_(Arena::open(arena_bytes)), root_(new (arena_->take(sizeof(Value))) Value(arena_.get(), root)) {}

const Value* Value::find(std::string_view name) const {
    if (kind_ != Kind::object) return nullptr;
    for (const Value& member : *this) {
        if (member.name() == name) return &member;
    }
    return nullptr;
}

std::string_view Value::string_at(std::string_view name) const {
    const Value* member = find(name);
    return member != nullptr && member->is(Kind::string) ? member->text() : std::string_view();
}

Value::Items Value::items_at(std::string_view name) const {
    const Value* member = find(name);
    if (member == nullptr) return {};
    if (member->is(Kind::array)) return {member->begin(), member->end()};
    const Iterator alone(member);
    return {alone, std::next(alone)};
}

std::string_view Value::keep(std::string_view text) const {
    if (text.empty()) return {no_text, 0};
    assert(text.size() < UINT32_MAX);
    char* copy = arena_->take(text.size() + 1);
    std::memcpy(copy, text.data(), text.size());
    copy[text.size()] = '\0';
    return {copy, text.size()};
}

Value& Value::append(std::string_view name, Kind kind) {
    assert(has_children());
    Value& child = append(kind);
    child.set_name(keep(name));
    return child;
}

void Value::add_string(std::string_view name, std::string_view text) {
    append(name, Kind::string).set_text(keep(text));
}

void Value::add_number(std::string_view name, std::string_view lexeme) {
    append(name, Kind::number).set_text(keep(lexeme));
}

void Value::add_boolean(std::string_view name, bool value) {
    append(name, Kind::boolean).boolean_ = value;
}

Value& Value::add_object(std::string_view name) {
    return append(name, Kind::object);
}

Value& Value::add_array(std::string_view name) {
    return append(name, Kind::array);
}

void Value::add_copy(std::string_view name, const Value& other) {
    append(name, other.kind_).fill_from(other);
}

void Value::push_string(std::string_view text) {
    append({}, Kind::string).set_text(keep(text));
}

Value& Value::push_object() {
    return append({}, Kind::object);
}

void Value::push_copy(const Value& other) {
    append({}, other.kind_).fill_from(other);
}

void Value::fill_from(const Value& other) {
    boolean_ = other.boolean_;
    if (has_text()) set_text(keep(other.text()));
    for (const Value& child : other)
        append(child.name(), child.kind_).fill_from(child);
}

}  // namespace nightferry::fhir::json
