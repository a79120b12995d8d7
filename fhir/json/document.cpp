#include "fhir/json/document.hpp"

#include <cassert>
#include <cstring>
#include <new>

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

Document::Document(Kind root) : arena_(std::make_unique<std::pmr::monotonic_buffer_resource>()) {
    root_ = new (arena_->allocate(sizeof(Value), alignof(Value))) Value(arena_.get(), root);
}

const Value* Value::find(std::string_view name) const {
    if (kind_ != Kind::object) return nullptr;
    for (const Value* member = first_; member != nullptr; member = member->next_) {
        if (member->name_ == name) return member;
    }
    return nullptr;
}

std::string_view Value::string_at(std::string_view name) const {
    const Value* member = find(name);
    return member != nullptr && member->kind_ == Kind::string ? member->text_ : std::string_view();
}

std::string_view Value::keep(std::string_view text) const {
    if (text.empty()) return {};
    char* copy = static_cast<char*>(arena_->allocate(text.size(), 1));
    std::memcpy(copy, text.data(), text.size());
    return {copy, text.size()};
}

Value& Value::append(std::string_view name, Kind kind) {
    assert(kind_ == Kind::array || kind_ == Kind::object);
    auto* child = new (arena_->allocate(sizeof(Value), alignof(Value))) Value(arena_, kind);
    child->name_ = keep(name);
    (last_ == nullptr ? first_ : last_->next_) = child;
    last_ = child;
    ++size_;
    return *child;
}

void Value::add_string(std::string_view name, std::string_view text) {
    append(name, Kind::string).text_ = keep(text);
}

void Value::add_number(std::string_view name, std::string_view lexeme) {
    append(name, Kind::number).text_ = keep(lexeme);
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
    append({}, Kind::string).text_ = keep(text);
}

Value& Value::push_object() {
    return append({}, Kind::object);
}

void Value::push_copy(const Value& other) {
    append({}, other.kind_).fill_from(other);
}

void Value::fill_from(const Value& other) {
    text_ = keep(other.text_);
    boolean_ = other.boolean_;
    for (const Value& child : other)
        append(child.name_, child.kind_).fill_from(child);
}

}  // namespace nightferry::fhir::json
