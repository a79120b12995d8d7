// Takes RapidJSON's events and grows our tree, within limits. Part of the reader.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory_resource>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fhir/json/document.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/text_stream.hpp"

namespace nightferry::fhir::json {

class TreeHandler {
 public:
    using Ch = char;

    // Copies the text into the document to be.
    TreeHandler(std::string_view text, const Limits& limits);

    // What the parser is to read: the copy.
    TextStream& stream() { return stream_; }
    // Lets numbers of any size through, which the parser would refuse.
    void admit_large_numbers();
    // Makes the parser stop there, if it gets so far.
    void spoil(std::size_t offset);

    bool Null() { return put(Kind::null, stream_offset(4)) != nullptr; }
    bool Bool(bool value) {
        Value* made = put(Kind::boolean, stream_offset(value ? 4 : 5));
        if (made != nullptr) made->boolean_ = value;
        return made != nullptr;
    }
    // RapidJSON means to say where the number begins, but says where the stream of its caller stands; that is
    // the same as long as it works on a copy.
    bool RawNumber(const char*, rapidjson::SizeType length, bool) {
        if (masked_) restore(length);
        return put_text(Kind::number, {stream_.src_, length});
    }
    bool String(const char* text, rapidjson::SizeType length, bool) {
        return put_text(Kind::string, {text, length});
    }
    bool StartObject() { return open(Kind::object); }
    bool StartArray() { return open(Kind::array); }
    bool Key(const char* text, rapidjson::SizeType length, bool inside);
    bool EndObject(rapidjson::SizeType members);
    bool EndArray(rapidjson::SizeType) { return close(); }
    // With numbers kept as text these are never called; RapidJSON's handler concept wants them.
    bool Int(int) { return false; }
    bool Uint(unsigned) { return false; }
    bool Int64(std::int64_t) { return false; }
    bool Uint64(std::uint64_t) { return false; }
    bool Double(double) { return false; }

    const std::string& failure() const { return failure_; }
    // Where the failure is, if not where the parser stands.
    std::optional<std::size_t> failure_offset() const { return failure_offset_; }
    // RFC 6901 pointer of the innermost value reached.
    std::string pointer() const;
    Document take() { return std::move(document_); }

 private:
    struct Open {
        Value* holder;
        std::uint64_t name_marks = 0;  // A bit for each name, of sixty-four; two names may share one.
        bool may_repeat = false;       // Whether two names did.
    };

    std::size_t stream_offset(std::size_t behind) const {
        return static_cast<std::size_t>(stream_.src_ - stream_.head_) - behind;
    }
    void restore(std::size_t length);
    static const Value* repeated_member(const Value& object);

    bool fail(std::string why, std::optional<std::size_t> offset = std::nullopt);
    bool fail_for_length();
    bool fail_for_values();
    bool fail_for_depth();

    bool close() {
        name_ = open_.back().holder->name();
        open_.pop_back();
        return true;
    }

    Value* put(Kind kind, std::size_t offset) {
        if (++count_ > limits_.values) {
            fail_for_values();
            return nullptr;
        }
        Value* made = document_.root_;
        if (open_.empty()) {
            made->kind_ = kind;
        } else {
            made = &open_.back().holder->append(kind);
            made->set_name(name_);
        }
        made->offset_ = static_cast<std::uint32_t>(offset);
        return made;
    }

    bool put_text(Kind kind, std::string_view text) {
        if (text.size() > limits_.string_bytes) return fail_for_length();
        if (half_a_surrogate_) return fail(half_a_surrogate);
        Value* made = put(kind, stream_offset(0));
        if (made == nullptr) return false;
        made->set_text(text);
        return true;
    }

    bool open(Kind kind) {
        if (open_.size() >= limits_.depth) return fail_for_depth();
        Value* made = put(kind, stream_offset(0));
        if (made == nullptr) return false;
        open_.push_back({made});
        name_ = {no_text, 0};
        return true;
    }

    static constexpr char half_a_surrogate[] = "half of a surrogate pair stands alone in a text";

    const std::string_view text_;
    const Limits& limits_;
    Document document_;
    bool masked_ = false;
    bool half_a_surrogate_ = false;
    TextStream stream_;
    std::array<std::byte, 2048> open_memory_;
    std::pmr::monotonic_buffer_resource open_resource_{open_memory_.data(), open_memory_.size()};
    std::pmr::vector<Open> open_{&open_resource_};
    std::string_view name_{no_text, 0};
    std::size_t count_ = 0;
    std::string failure_;
    std::optional<std::size_t> failure_offset_;
};

}  // namespace nightferry::fhir::json
