// Whatever is read can be written, with or without white space, and read again as the same document; whatever
// is refused is refused at a place in the text.
#include <algorithm>
#include <cstdint>
#include <string_view>

#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/fuzz/require.hpp"

namespace {

using namespace nightferry::fhir::json;
using nightferry::test::require;

bool same(const Value& a, const Value& b) {
    return a.kind() == b.kind() && a.name() == b.name() && a.text() == b.text() &&
           a.boolean() == b.boolean() && std::equal(a.begin(), a.end(), b.begin(), b.end(), same);
}

std::string_view first_characters_of(Kind kind) {
    switch (kind) {
        case Kind::null:
            return "n";
        case Kind::boolean:
            return "tf";
        case Kind::number:
            return "-0123456789";
        case Kind::string:
            return "\"";
        case Kind::array:
            return "[";
        case Kind::object:
            return "{";
    }
    return "";
}

void check_offsets(std::string_view text, const Value& value) {
    require(value.offset() < text.size(), "an offset lies in the text");
    require(first_characters_of(value.kind()).find(text[value.offset()]) != std::string_view::npos,
            "an offset is that of the value");
    require(!value.is(Kind::number) || text.substr(value.offset()).starts_with(value.text()),
            "a number keeps its characters");
    for (const Value& child : value)
        check_offsets(text, child);
}

void check_refusal(std::string_view text, const ReadError& error) {
    require(!error.message.empty(), "a refusal says why");
    require(error.offset <= text.size(), "a refusal is in the text");
    const Position position = position_at(text, error.offset);
    require(position.line == error.position.line && position.column == error.position.column,
            "a refusal's position is that of its offset");
    require(error.pointer.empty() || error.pointer.front() == '/', "a pointer starts at the root");
}

void check(std::string_view text, const Limits& limits) {
    const auto document = read(text, limits);
    if (!document) return check_refusal(text, document.error());
    check_offsets(text, document->root());
    // Escaping can make it longer than the limit of what is read.
    Limits wide;
    wide.bytes = 16 * limits.bytes;
    const std::string written = write(document->root());
    const auto again = read(written, wide);
    require(again && same(document->root(), again->root()), "what is written reads as what it was");
    require(write(again->root()) == written, "what is written is written alike again");
    const auto pretty = read(write_pretty(document->root()), wide);
    require(pretty && same(document->root(), pretty->root()),
            "what is written for people reads as what it was");
    Document copy(Kind::array);
    copy.root().push_copy(document->root());
    require(same(copy.root().front(), document->root()), "a copy is the same");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view text(reinterpret_cast<const char*>(data), size);
    check(text, Limits{});
    Limits tight;
    tight.bytes = 2000;
    tight.depth = 4;
    tight.values = 40;
    tight.string_bytes = 20;
    check(text, tight);
    return 0;
}
