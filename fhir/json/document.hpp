// A JSON document as FHIR needs it: nothing is lost between reading and writing.
//
// Invariants:
//   (1) Numbers keep the exact characters they were written with (FHIR: 1.0 and 1.00 differ in precision).
//   (2) Members keep their order; an object never holds two members of one name.
//   (3) Every value of a document that was read knows the byte offset where it began, for error messages.
//   (4) All values live in the document's arena and die with it; a Value& stays valid while it lives, also
//       when the Document is moved.
//
// Nesting is bounded by Limits::depth when reading; builders in this project nest a dozen levels at most,
// so walking a tree recursively is safe.
#pragma once

#include <cstddef>
#include <cstdint>
#include <iterator>
#include <memory>
#include <memory_resource>
#include <string_view>

namespace nightferry::fhir::json {

enum class Kind : std::uint8_t { null, boolean, number, string, array, object };

// The name of a kind as an error message says it: "a number", "an object".
std::string_view words_for(Kind kind);

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
            at_ = at_->next_;
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

    Kind kind() const { return kind_; }
    bool is(Kind kind) const { return kind_ == kind; }

    // The member name when this value sits in an object, else empty.
    std::string_view name() const { return name_; }
    // The characters of a string, or the lexeme of a number; empty for other kinds.
    std::string_view text() const { return text_; }
    bool boolean() const { return boolean_; }
    // Byte offset of the value in the text it was read from; 0 for built values.
    std::size_t offset() const { return offset_; }

    // Members of an object or items of an array, in order.
    Iterator begin() const { return Iterator(first_); }
    Iterator end() const { return Iterator(); }
    std::size_t size() const { return size_; }
    const Value& front() const { return *first_; }

    // The member of that name, or nullptr (also when this is no object).
    const Value* find(std::string_view name) const;
    // The text of a string member, or empty when it is absent or no string.
    std::string_view string_at(std::string_view name) const;

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

    Value(std::pmr::memory_resource* arena, Kind kind) : arena_(arena), kind_(kind) {}
    Value& append(std::string_view name, Kind kind);
    std::string_view keep(std::string_view text) const;
    void fill_from(const Value& other);

    std::pmr::memory_resource* arena_;  // The document's; values are trivially destructible.
    Value* first_ = nullptr;
    Value* last_ = nullptr;
    Value* next_ = nullptr;
    std::string_view name_;
    std::string_view text_;
    std::size_t size_ = 0;
    std::uint32_t offset_ = 0;
    Kind kind_;
    bool boolean_ = false;
};

class Document {
 public:
    // A document whose root is an empty object (or array).
    explicit Document(Kind root = Kind::object);

    Document(Document&&) noexcept = default;
    Document& operator=(Document&&) noexcept = default;

    Value& root() { return *root_; }
    const Value& root() const { return *root_; }

 private:
    friend class TreeHandler;
    std::unique_ptr<std::pmr::monotonic_buffer_resource> arena_;
    Value* root_;
};

}  // namespace nightferry::fhir::json
