// RapidJSON's iterative SAX parser feeds our tree. Two of its paths are avoided on purpose: the recursive
// parser overflows the stack on deep input, and its full-precision number path reads out of bounds in the
// release that distributions ship; numbers therefore stay text.
#include "fhir/json/reader.hpp"

#include <rapidjson/error/en.h>
#include <rapidjson/memorystream.h>
#include <rapidjson/reader.h>

#include <algorithm>
#include <optional>
#include <stdexcept>
#include <vector>

namespace nightferry::fhir::json {

Position position_at(std::string_view text, std::size_t offset) {
    const std::string_view before = text.substr(0, std::min(offset, text.size()));
    const auto lines = std::count(before.begin(), before.end(), '\n');
    const auto line_start = before.rfind('\n');
    const std::size_t column =
        line_start == std::string_view::npos ? before.size() : before.size() - line_start - 1;
    return {static_cast<std::size_t>(lines) + 1, column + 1};
}

std::string pointer_token(std::string_view name) {
    std::string token;
    for (char c : name) {
        if (c == '~') {
            token += "~0";
        } else if (c == '/') {
            token += "~1";
        } else {
            token += c;
        }
    }
    return token;
}

void throw_exception_from_error(const ReadError& error, const boost::source_location&) {
    throw std::runtime_error("unchecked JSON error: " + error.message);
}

class TreeHandler {
 public:
    using Ch = char;

    TreeHandler(const rapidjson::MemoryStream& stream, const Limits& limits)
        : stream_(stream), limits_(limits), document_(Kind::null) {}

    bool Null() { return put(Kind::null, 4) != nullptr; }
    bool Bool(bool value) {
        Value* made = put(Kind::boolean, value ? 4 : 5);
        if (made != nullptr) made->boolean_ = value;
        return made != nullptr;
    }
    bool RawNumber(const char* text, rapidjson::SizeType length, bool) {
        return put_text(Kind::number, {text, length});
    }
    bool String(const char* text, rapidjson::SizeType length, bool) {
        return put_text(Kind::string, {text, length});
    }
    bool StartObject() { return open(Kind::object); }
    bool StartArray() { return open(Kind::array); }
    bool Key(const char* text, rapidjson::SizeType length, bool) {
        const std::string_view name{text, length};
        if (length > limits_.string_bytes) return fail("a member name is too long");
        if (has_half_a_surrogate(name)) return fail(half_a_surrogate);
        name_ = open_.back()->keep(name);
        return true;
    }
    bool EndObject(rapidjson::SizeType) {
        if (const Value* twice = repeated_member(*open_.back())) {
            name_ = twice->name();
            return fail("two members of an object have the same name", twice->offset());
        }
        return close();
    }
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
    Document take() { return std::move(document_); }

    std::string pointer() const {
        std::string path;
        for (std::size_t i = 0; i < open_.size(); ++i) {
            const Value& holder = *open_[i];
            path += '/';
            if (holder.is(Kind::object)) {
                const std::string_view member = i + 1 < open_.size() ? open_[i + 1]->name() : name_;
                path += pointer_token(member);
            } else {
                const std::size_t index = i + 1 < open_.size() ? holder.size() - 1 : holder.size();
                path += std::to_string(index);
            }
        }
        return path;
    }

 private:
    bool fail(std::string why, std::optional<std::size_t> offset = std::nullopt) {
        failure_ = std::move(why);
        failure_offset_ = offset;
        return false;
    }

    bool close() {
        name_ = open_.back()->name();
        open_.pop_back();
        return true;
    }

    // The stream stands just behind a scalar of known length, or in front of an opening bracket (length 0).
    Value* put(Kind kind, std::size_t length) {
        if (++count_ > limits_.values) {
            fail("the document has more than " + std::to_string(limits_.values) + " values");
            return nullptr;
        }
        Value* made;
        if (open_.empty()) {
            made = document_.root_;
            made->kind_ = kind;
        } else {
            Value& holder = *open_.back();
            made = &holder.append({}, kind);
            if (holder.is(Kind::object)) made->name_ = name_;
        }
        const std::size_t end = stream_.Tell();
        made->offset_ = static_cast<std::uint32_t>(end >= length ? end - length : 0);
        return made;
    }

    bool put_text(Kind kind, std::string_view text) {
        if (text.size() > limits_.string_bytes) {
            return fail("a text is longer than " + std::to_string(limits_.string_bytes) + " bytes");
        }
        // A string's escapes may have made it shorter than its source; the offset then points inside it,
        // which is still the right line.
        if (has_half_a_surrogate(text)) return fail(half_a_surrogate);
        Value* made = put(kind, kind == Kind::string ? text.size() + 2 : text.size());
        if (made == nullptr) return false;
        made->text_ = made->keep(text);
        return true;
    }

    bool open(Kind kind) {
        if (open_.size() >= limits_.depth) {
            return fail("the document nests deeper than " + std::to_string(limits_.depth) + " levels");
        }
        Value* made = put(kind, 0);
        if (made == nullptr) return false;
        open_.push_back(made);
        name_ = {};
        return true;
    }

    // The second of two members with one name, or nullptr.
    static const Value* repeated_member(const Value& object) {
        std::vector<const Value*> members;
        members.reserve(object.size());
        for (const Value& member : object)
            members.push_back(&member);
        const auto by_name = [](const Value* a, const Value* b) { return a->name() < b->name(); };
        std::stable_sort(members.begin(), members.end(), by_name);
        const auto same_name = [](const Value* a, const Value* b) { return a->name() == b->name(); };
        const auto first = std::adjacent_find(members.begin(), members.end(), same_name);
        return first == members.end() ? nullptr : *(first + 1);
    }

    // The packaged RapidJSON takes the second half of a surrogate pair alone and encodes it as it is, which
    // is no UTF-8.
    static bool has_half_a_surrogate(std::string_view text) {
        for (auto at = text.find('\xED'); at != std::string_view::npos; at = text.find('\xED', at + 1)) {
            if (at + 1 < text.size() && static_cast<unsigned char>(text[at + 1]) >= 0xA0) return true;
        }
        return false;
    }
    static constexpr char half_a_surrogate[] = "half of a surrogate pair stands alone in a text";

    const rapidjson::MemoryStream& stream_;
    const Limits& limits_;
    Document document_;
    std::vector<Value*> open_;
    std::string_view name_;
    std::size_t count_ = 0;
    std::string failure_;
    std::optional<std::size_t> failure_offset_;
};

namespace {

std::string words_for_failure(rapidjson::ParseErrorCode code, std::string_view text, std::size_t offset) {
    const bool at_control = offset >= text.size() || static_cast<unsigned char>(text[offset]) < 0x20;
    switch (code) {
        case rapidjson::kParseErrorStringEscapeInvalid:
            return at_control ? "a text is not closed on its line"
                              : "a backslash is followed by what is no escape";
        case rapidjson::kParseErrorStringMissQuotationMark:
            return "a text is not closed on its line";
        case rapidjson::kParseErrorObjectMissName:
            return "expected a member name in quotes (a decimal has a point in JSON, and no comma stands "
                   "behind the last member)";
        case rapidjson::kParseErrorObjectMissColon:
            return "expected a colon behind a member name";
        case rapidjson::kParseErrorObjectMissCommaOrCurlyBracket:
            return "expected a comma or } behind a member";
        case rapidjson::kParseErrorArrayMissCommaOrSquareBracket:
            return "expected a comma or ] behind an item";
        case rapidjson::kParseErrorDocumentRootNotSingular:
            return "more text follows behind the end of the JSON value";
        case rapidjson::kParseErrorDocumentEmpty:
            return "expected a JSON value";
        case rapidjson::kParseErrorValueInvalid:
            return "expected a value: a text in quotes, a number, true, false, null, a list or an object";
        case rapidjson::kParseErrorStringInvalidEncoding:
            return "a text is not valid UTF-8";
        case rapidjson::kParseErrorStringUnicodeSurrogateInvalid:
            return "half of a surrogate pair stands alone in a text";
        default:
            return rapidjson::GetParseError_En(code);
    }
}

ReadError error_at(std::string_view text, std::size_t offset, std::string message, std::string pointer = {}) {
    return {std::move(message), offset, position_at(text, offset), std::move(pointer)};
}

}  // namespace

boost::system::result<Document, ReadError> read(std::string_view text, const Limits& limits) {
    if (text.size() > limits.bytes) {
        return error_at(text, 0, "the text is longer than " + std::to_string(limits.bytes) + " bytes");
    }
    // RapidJSON takes a zero byte for the end of the text, so one inside would hide what follows.
    if (const auto zero = text.find('\0'); zero != std::string_view::npos) {
        return error_at(text, zero, "a zero byte is not allowed in JSON");
    }
    rapidjson::MemoryStream stream(text.data(), text.size());
    TreeHandler handler(stream, limits);
    rapidjson::Reader reader;
    constexpr unsigned flags = rapidjson::kParseNumbersAsStringsFlag | rapidjson::kParseIterativeFlag |
                               rapidjson::kParseValidateEncodingFlag;
    const rapidjson::ParseResult result = reader.Parse<flags>(stream, handler);
    if (!result.IsError()) return handler.take();
    const bool ours = result.Code() == rapidjson::kParseErrorTermination;
    const std::size_t offset = ours ? handler.failure_offset().value_or(result.Offset()) : result.Offset();
    std::string message = ours ? handler.failure() : words_for_failure(result.Code(), text, offset);
    return error_at(text, offset, std::move(message), handler.pointer());
}

}  // namespace nightferry::fhir::json
