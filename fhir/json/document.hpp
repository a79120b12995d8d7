// A JSON document as FHIR needs it: nothing is lost between reading and writing.
//
// Invariants:
//   (1) Numbers keep the exact characters they were written with (FHIR: 1.0 and 1.00 differ in precision).
//   (2) Members keep their order; an object never holds two members of one name.
//   (3) Every value of a document that was read knows the byte offset where it began, for error messages.
//   (4) All values live in the document's arena and die with it; a Value& stays valid while it lives, also
//       when the Document is moved.
//   (5) Behind every name and every string stands a zero byte, and Arena::slack more bytes may be read: the
//       writer scans in wide steps.
//
// The children of a value form a ring: it points to the last one, and that one's successor is the first.
//
// Nesting is bounded by Limits::depth when reading; builders in this project nest a dozen levels at most,
// so walking a tree recursively is safe.
#pragma once

#include <cstddef>
#include <cstdint>
#include <iterator>
#include <new>
#include <string_view>

#include "fhir/json/arena.hpp"

namespace nightferry::fhir::json {

enum class Kind : std::uint8_t { null, boolean, number, string, array, object };

// The name of a kind as an error message says it: "a number", "an object".
std::string_view words_for(Kind kind);

// The empty text, as (5) wants it.
inline constexpr char no_text[1 + Arena::slack] = {};

class Value {
 public:
    class Iterator {
     public:
        using iterator_category = std::forward_iterator_tag;
        using value_type = Value;
        using difference_type = std::ptrdiff_t;
        using pointer = const Value*;
        using reference = const Value&;
        Iterator() = default;
        explicit Iterator(const Value* at) : at_(at) {}
        reference operator*() const { return *at_; }
        pointer operator->() const { return at_; }
        Iterator& operator++() {
            at_ = at_->is_last_ ? nullptr : at_->next_;
            return *this;
        }
        Iterator operator++(int) {
            Iterator old = *this;
            ++*this;
            return old;
        }
        bool operator==(const Iterator&) const = default;

     private:
        const Value* at_ = nullptr;
    };

    // Neighbours in an array, or one value alone.
    class Items {
     public:
        Items() = default;
        Items(Iterator begin, Iterator end) : begin_(begin), end_(end) {}
        Iterator begin() const { return begin_; }
        Iterator end() const { return end_; }
        bool empty() const { return begin_ == end_; }
        const Value& front() const { return *begin_; }

     private:
        Iterator begin_;
        Iterator end_;
    };

    Kind kind() const { return kind_; }
    bool is(Kind kind) const { return kind_ == kind; }

    // The member name when this value sits in an object, else empty.
    std::string_view name() const { return {name_, name_size_}; }
    // The characters of a string, or the lexeme of a number; empty for other kinds.
    std::string_view text() const { return has_text() ? std::string_view(text_, size_) : std::string_view(); }
    bool boolean() const { return boolean_; }
    // Byte offset of the value in the text it was read from; 0 for built values.
    std::size_t offset() const { return offset_; }

    // Members of an object or items of an array, in order.
    Iterator begin() const { return Iterator(size() == 0 ? nullptr : last_->next_); }
    Iterator end() const { return Iterator(); }
    std::size_t size() const { return has_children() ? size_ : 0; }
    const Value& front() const { return *begin(); }

    // The member of that name, or nullptr (also when this is no object).
    const Value* find(std::string_view name) const;
    // The text of a string member, or empty when it is absent or no string.
    std::string_view string_at(std::string_view name) const;
    // The items of the array member of that name; the member itself when it is no array, so that a list of
    // one may be written without brackets. Nothing when it is absent.
    Items items_at(std::string_view name) const;

    // Building. On an object the first argument names the new member, which must not exist yet; on an array
    // use the push_ forms. Text is copied into the arena.
    void add_string(std::string_view name, std::string_view text);
    void add_number(std::string_view name, std::string_view lexeme);
    void add_boolean(std::string_view name, bool value);
    Value& add_object(std::string_view name);
    Value& add_array(std::string_view name);
    void add_copy(std::string_view name, const Value& other);
    void push_string(std::string_view text);
    Value& push_object();
    void push_copy(const Value& other);

 private:
    friend class Document;
    friend class TreeHandler;

    Value(Arena* arena, Kind kind) : arena_(arena), kind_(kind) {}
    bool has_text() const { return kind_ == Kind::number || kind_ == Kind::string; }
    bool has_children() const { return kind_ >= Kind::array; }
    Value& append(Kind kind);
    Value& append(std::string_view name, Kind kind);
    void set_name(std::string_view kept);
    void set_text(std::string_view kept);
    std::string_view keep(std::string_view text) const;
    void fill_from(const Value& other);

    // A large document has millions of these.
    Arena* arena_;  // The document's; values are trivially destructible.
    Value* next_ = nullptr;
    const char* name_ = no_text;
    union {
        const char* text_;       // Of a string or a number.
        Value* last_ = nullptr;  // Of an array or an object that is not empty.
    };
    std::uint32_t name_size_ = 0;
    std::uint32_t size_ = 0;  // Characters of the text, or children.
    std::uint32_t offset_ = 0;
    Kind kind_;
    bool boolean_ = false;
    bool is_last_ = true;
};

inline void Value::set_name(std::string_view kept) {
    name_ = kept.data();
    name_size_ = static_cast<std::uint32_t>(kept.size());
}

inline void Value::set_text(std::string_view kept) {
    text_ = kept.data();
    size_ = static_cast<std::uint32_t>(kept.size());
}

inline Value& Value::append(Kind kind) {
    auto* child = new (arena_->take(sizeof(Value))) Value(arena_, kind);
    if (size_ == 0) {
        child->next_ = child;
    } else {
        child->next_ = last_->next_;
        last_->next_ = child;
        last_->is_last_ = false;
    }
    last_ = child;
    ++size_;
    return *child;
}

class Document {
 public:
    // A document whose root is an empty object (or array).
    explicit Document(Kind root = Kind::object) : Document(root, built_bytes) {}

    Document(Document&&) noexcept = default;
    Document& operator=(Document&&) noexcept = default;

    Value& root() { return *root_; }
    const Value& root() const { return *root_; }

 private:
    friend class TreeHandler;
    static constexpr std::size_t built_bytes = 4000;

    Document(Kind root, std::size_t arena_bytes);

    Arena::Owner arena_;
    Value* root_;
};

}  // namespace nightferry::fhir::json
