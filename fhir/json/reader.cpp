// RapidJSON's iterative SAX parser feeds our tree. Two of its paths are avoided on purpose: the recursive
// parser overflows the stack on deep input, and its full-precision number path reads out of bounds in the
// release that distributions ship; numbers therefore stay text.
//
// The text is copied once, into the arena of the document that is made of it, and all names and texts of the
// document are pieces of that copy. The text itself stays as it is: errors are explained from it.
#include "fhir/json/reader.hpp"

#include <algorithm>
#include <limits>
#include <stdexcept>

#include "fhir/json/text_stream.hpp"
#include "fhir/json/tree_handler.hpp"
#include "fhir/json/utf8.hpp"

namespace nightferry::fhir::json {

Position position_at(std::string_view text, std::size_t offset) {
    return Positions(text).at(offset);
}

Position Positions::at(std::size_t offset) {
    offset = std::min(offset, text_.size());
    if (offset < reached_) *this = Positions(text_);
    for (auto end = text_.find('\n', reached_); end < offset; end = text_.find('\n', reached_)) {
        reached_ = line_start_ = end + 1;
        ++line_;
    }
    reached_ = offset;
    return {line_, offset - line_start_ + 1};
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

namespace {

std::string words_for_failure(rapidjson::ParseErrorCode code, std::string_view text, std::size_t offset,
                              bool invalid_utf8) {
    const bool at_line_end = offset >= text.size() || text[offset] == '\n' || text[offset] == '\r';
    const bool at_control = at_line_end || static_cast<unsigned char>(text[offset]) < 0x20;
    switch (code) {
        case rapidjson::kParseErrorStringEscapeInvalid:
            if (invalid_utf8) return "a text is not valid UTF-8";
            if (at_line_end) return "a text is not closed on its line";
            return at_control ? "a control character is written as an escape in a text, like \\t or \\u001B"
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
            if (text.starts_with("\xEF\xBB\xBF")) return "a byte order mark is not allowed in front of JSON";
            if (offset == 0 && text.front() == '<') return "this is XML or HTML, and JSON is expected";
            return "expected a value: a text in quotes, a number, true, false, null, a list or an object";
        case rapidjson::kParseErrorStringUnicodeSurrogateInvalid:
            return "half of a surrogate pair stands alone in a text";
        case rapidjson::kParseErrorStringUnicodeEscapeInvalidHex:
            return "four hexadecimal digits are expected behind \\u";
        case rapidjson::kParseErrorNumberMissFraction:
            return "a number has digits behind its point";
        case rapidjson::kParseErrorNumberMissExponent:
            return "a number has digits behind its e";
        default:
            return "this is not JSON";
    }
}

ReadError error_at(std::string_view text, std::size_t offset, std::string message, std::string pointer = {}) {
    return {std::move(message), offset, position_at(text, offset), std::move(pointer)};
}

// What RapidJSON cannot count beyond.
constexpr std::size_t bytes_max = std::numeric_limits<std::uint32_t>::max() - 2 * Arena::slack;

}  // namespace

namespace {

rapidjson::ParseResult parse(TreeHandler& handler) {
    StackMemory memory;
    rapidjson::GenericReader<KnownUtf8, KnownUtf8, rapidjson::MemoryPoolAllocator<>> reader(memory.get());
    constexpr unsigned flags =
        rapidjson::kParseInsituFlag | rapidjson::kParseNumbersAsStringsFlag | rapidjson::kParseIterativeFlag;
    return reader.Parse<flags>(handler.stream(), handler);
}

}  // namespace

boost::system::result<Document, ReadError> read(std::string_view text, const Limits& limits) {
    if (const std::size_t most = std::min(limits.bytes, bytes_max); text.size() > most) {
        return error_at(text, 0, "the text is longer than " + std::to_string(most) + " bytes");
    }
    // RapidJSON takes a zero byte for the end of the text, so one inside would hide what follows.
    if (const auto zero = text.find('\0'); zero != std::string_view::npos) {
        return error_at(text, zero, "a zero byte is not allowed in JSON");
    }
    const std::size_t invalid = find_invalid_utf8(text);
    for (const bool admit_large_numbers : {false, true}) {
        TreeHandler handler(text, limits);
        if (admit_large_numbers) handler.admit_large_numbers();
        if (invalid != std::string_view::npos) handler.spoil(invalid);
        const rapidjson::ParseResult result = parse(handler);
        if (!result.IsError()) return handler.take();
        if (result.Code() == rapidjson::kParseErrorNumberTooBig && !admit_large_numbers) continue;
        const std::size_t offset = handler.failure_offset().value_or(result.Offset());
        std::string message = result.Code() == rapidjson::kParseErrorTermination
                                  ? handler.failure()
                                  : words_for_failure(result.Code(), text, offset, offset == invalid);
        return error_at(text, offset, std::move(message), handler.pointer());
    }
    return error_at(text, 0, "a number is too large");
}

}  // namespace nightferry::fhir::json
