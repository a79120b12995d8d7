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

namespace {

std::string words_for_failure(rapidjson::ParseErrorCode code, std::string_view text, std::size_t offset,
                              bool invalid_utf8) {
    const bool at_control = offset >= text.size() || static_cast<unsigned char>(text[offset]) < 0x20;
    switch (code) {
        case rapidjson::kParseErrorStringEscapeInvalid:
            if (invalid_utf8) return "a text is not valid UTF-8";
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
        case rapidjson::kParseErrorStringUnicodeSurrogateInvalid:
            return "half of a surrogate pair stands alone in a text";
        default:
            return rapidjson::GetParseError_En(code);
    }
}

ReadError error_at(std::string_view text, std::size_t offset, std::string message, std::string pointer = {}) {
    return {std::move(message), offset, position_at(text, offset), std::move(pointer)};
}

// What RapidJSON cannot count beyond.
constexpr std::size_t bytes_max = std::numeric_limits<std::uint32_t>::max() - 2 * Arena::slack;

}  // namespace

boost::system::result<Document, ReadError> read(std::string_view text, const Limits& limits) {
    if (const std::size_t most = std::min(limits.bytes, bytes_max); text.size() > most) {
        return error_at(text, 0, "the text is longer than " + std::to_string(most) + " bytes");
    }
    // RapidJSON takes a zero byte for the end of the text, so one inside would hide what follows.
    if (const auto zero = text.find('\0'); zero != std::string_view::npos) {
        return error_at(text, zero, "a zero byte is not allowed in JSON");
    }
    TreeHandler handler(text, limits);
    const std::size_t invalid = find_invalid_utf8(text);
    if (invalid != std::string_view::npos) handler.spoil(invalid);

    StackMemory memory;
    rapidjson::GenericReader<KnownUtf8, KnownUtf8, rapidjson::MemoryPoolAllocator<>> reader(memory.get());
    constexpr unsigned flags =
        rapidjson::kParseInsituFlag | rapidjson::kParseNumbersAsStringsFlag | rapidjson::kParseIterativeFlag;
    const rapidjson::ParseResult result = reader.Parse<flags>(handler.stream(), handler);
    if (!result.IsError()) return handler.take();
    const std::size_t offset = handler.failure_offset().value_or(result.Offset());
    std::string message = result.Code() == rapidjson::kParseErrorTermination
                              ? handler.failure()
                              : words_for_failure(result.Code(), text, offset, offset == invalid);
    return error_at(text, offset, std::move(message), handler.pointer());
}

}  // namespace nightferry::fhir::json
