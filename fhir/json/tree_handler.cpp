#include "fhir/json/tree_handler.hpp"

#include <algorithm>
#include <cstring>

#include "fhir/json/large_numbers.hpp"

namespace nightferry::fhir::json {

namespace {

// Up to so many members are compared with each other; more are sorted, so that no document makes us compare
// millions of pairs.
constexpr std::size_t compared_members_max = 32;

// Room for the copy of a text and, when it is small, for its values too.
std::size_t arena_bytes_for(std::size_t text_bytes) {
    constexpr std::size_t values_bytes_max = 64 * 1024;
    return text_bytes + Arena::slack + std::min(512 + 4 * text_bytes, values_bytes_max);
}

char* copy_into(Arena& arena, std::string_view text) {
    char* copy = arena.take(text.size() + 1);
    std::memcpy(copy, text.data(), text.size());
    copy[text.size()] = '\0';
    return copy;
}

// Which of sixty-four bits stands for a name; names of one object mostly differ in length or at their ends.
std::uint64_t mark_of(std::string_view name) {
    if (name.empty()) return 1;
    const auto byte = [](char c) { return std::size_t{static_cast<unsigned char>(c)}; };
    const std::size_t mixed = name.size() * 31 + byte(name.front()) * 7 + byte(name.back()) * 13;
    return std::uint64_t{1} << (mixed & 63);
}

const Value* repeated_of_few(const Value& object) {
    for (const Value& member : object) {
        for (const Value& earlier : object) {
            if (&earlier == &member) break;
            if (earlier.name() == member.name()) return &member;
        }
    }
    return nullptr;
}

const Value* repeated_of_many(const Value& object) {
    std::vector<const Value*> members;
    members.reserve(object.size());
    for (const Value& member : object)
        members.push_back(&member);
    std::stable_sort(members.begin(), members.end(),
                     [](const Value* a, const Value* b) { return a->name() < b->name(); });
    const Value* repeated = nullptr;
    for (std::size_t i = 1; i < members.size(); ++i) {
        const bool same = members[i]->name() == members[i - 1]->name();
        if (same && (repeated == nullptr || members[i]->offset() < repeated->offset())) repeated = members[i];
    }
    return repeated;
}

}  // namespace

TreeHandler::TreeHandler(std::string_view text, const Limits& limits)
    : text_(text),
      limits_(limits),
      document_(Kind::null, arena_bytes_for(text.size())),
      stream_(copy_into(*document_.arena_, text), half_a_surrogate_) {
    open_.reserve(open_memory_.size() / sizeof(Open));
}

void TreeHandler::admit_large_numbers() {
    mask_large_numbers(stream_.head_, text_.size());
    masked_ = true;
}

// Puts the number that has just been parsed back over its mask.
void TreeHandler::restore(std::size_t length) {
    std::memcpy(stream_.src_, text_.data() + stream_offset(0), length);
}

void TreeHandler::spoil(std::size_t offset) {
    // A control character, which may stand in no text and is no value.
    stream_.head_[offset] = '\x01';
}

bool TreeHandler::Key(const char* text, rapidjson::SizeType length, bool) {
    if (length > limits_.string_bytes) return fail("a member name is too long");
    if (half_a_surrogate_) return fail(half_a_surrogate);
    name_ = {text, length};
    Open& object = open_.back();
    const std::uint64_t mark = mark_of(name_);
    object.may_repeat |= (object.name_marks & mark) != 0;
    object.name_marks |= mark;
    return true;
}

bool TreeHandler::EndObject(rapidjson::SizeType) {
    const Open& object = open_.back();
    const Value* twice = object.may_repeat ? repeated_member(*object.holder) : nullptr;
    if (twice == nullptr) return close();
    name_ = twice->name();
    return fail("two members of an object have the same name", twice->offset());
}

// The first member with the name of an earlier one, or nullptr.
const Value* TreeHandler::repeated_member(const Value& object) {
    return object.size() <= compared_members_max ? repeated_of_few(object) : repeated_of_many(object);
}

std::string TreeHandler::pointer() const {
    std::string path;
    for (std::size_t i = 0; i < open_.size(); ++i) {
        const Value& holder = *open_[i].holder;
        const Value* next = i + 1 < open_.size() ? open_[i + 1].holder : nullptr;
        path += '/';
        if (holder.is(Kind::object)) {
            path += pointer_token(next != nullptr ? next->name() : name_);
        } else {
            path += std::to_string(next != nullptr ? holder.size() - 1 : holder.size());
        }
    }
    return path;
}

bool TreeHandler::fail(std::string why, std::optional<std::size_t> offset) {
    failure_ = std::move(why);
    failure_offset_ = offset;
    return false;
}

bool TreeHandler::fail_for_length() {
    return fail("a text is longer than " + std::to_string(limits_.string_bytes) + " bytes");
}

bool TreeHandler::fail_for_values() {
    return fail("the document has more than " + std::to_string(limits_.values) + " values");
}

bool TreeHandler::fail_for_depth() {
    return fail("the document nests deeper than " + std::to_string(limits_.depth) + " levels");
}

}  // namespace nightferry::fhir::json
