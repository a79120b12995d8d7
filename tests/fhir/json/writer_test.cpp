#include "fhir/json/writer.hpp"

#include "fhir/json/reader.hpp"

namespace nightferry::fhir::json {

namespace {

std::string through(std::string_view text) {
    const auto document = read(text);
    return document ? write(document->root()) : "refused: " + document.error().message;
}

TEST(JsonWriterTest, ControlCharactersAreEscapedAndOthersAreNot) {
    EXPECT_EQ(through(R"("\"\\\n\u001F/\u00E9\u20AC\uD834\uDD1E")"), "\"\\\"\\\\\\n\\u001F/é€\U0001D11E\"");
}

TEST(JsonWriterTest, EveryControlCharacterIsEscapedWhereverItStands) {
    // RFC 8259 section 7.
    for (char control = 0; control < 0x20; ++control) {
        for (std::size_t before = 0; before < 20; ++before) {
            const std::string text = std::string(before, 'a') + control + std::string(20, 'b');
            Document document;
            document.root().add_string("t", text);
            const std::string written = write(document.root());
            for (const char c : written)
                EXPECT_GE(static_cast<unsigned char>(c), 0x20);
            const auto again = read(written);
            ASSERT_TRUE(again.has_value()) << written;
            EXPECT_EQ(again->root().string_at("t"), text);
        }
    }
}

TEST(JsonWriterTest, TextsOfAnyLengthAreWrittenWhole) {
    for (const std::size_t length : {0, 1, 7, 8, 9, 4093, 4094, 4095, 4096, 4097, 100'000}) {
        const std::string quoted = '"' + std::string(length, 'x') + '"';
        EXPECT_EQ(through(quoted), quoted);
        EXPECT_EQ(through("[" + quoted + "," + quoted + "]"), "[" + quoted + "," + quoted + "]");
    }
    // Escapes make it longer than was to be expected.
    std::string escapes;
    for (int i = 0; i < 50'000; ++i)
        escapes += "\\u0001";
    EXPECT_EQ(through('"' + escapes + '"'), '"' + escapes + '"');
}

TEST(JsonWriterTest, PrettyTextIsIndentedByTwoAndEndsItsLine) {
    const auto document = read(R"({"a":[1,{"b":1.0}],"c":[]})");
    ASSERT_TRUE(document.has_value());
    const std::string pretty = write_pretty(document->root());
    EXPECT_EQ(pretty, "{\n  \"a\": [\n    1,\n    {\n      \"b\": 1.0\n    }\n  ],\n  \"c\": []\n}\n");
    EXPECT_EQ(through(pretty), R"({"a":[1,{"b":1.0}],"c":[]})");
}

}  // namespace

}  // namespace nightferry::fhir::json
