#include "fhir/json/reader.hpp"

#include "fhir/json/writer.hpp"

namespace nightferry::fhir::json {

namespace {

std::string through(std::string_view text) {
    const auto document = read(text);
    return document ? write(document->root()) : "refused: " + document.error().message;
}

ReadError refusal(std::string_view text, const Limits& limits = {}) {
    const auto document = read(text, limits);
    EXPECT_TRUE(document.has_error()) << "was read: " << text.substr(0, 60);
    return document ? ReadError{} : document.error();
}

std::string place(const ReadError& error) {
    return std::to_string(error.position.line) + ":" + std::to_string(error.position.column) + " " +
           error.pointer;
}

std::string nested(std::size_t levels) {
    return std::string(levels, '[') + std::string(levels, ']');
}

TEST(JsonReaderTest, NumbersKeepTheirCharacters) {
    // FHIR R4 json.html: the precision of a decimal is significant, so 0.010 and 0.01 are different.
    for (const char* number :
         {"1.0", "1.00", "0.010", "1E-22", "1e+2", "-0", "-0.00", "0", "1000000000000000000",
          "1234567890123456789012345678901234567890", "0.1234567890123456789012345678901234567890"}) {
        EXPECT_EQ(through(number), number);
    }
}

TEST(JsonReaderTest, NumbersKeepTheirCharactersWhateverStandsAround) {
    const auto document = read(" [ 12.50 ,-0.0, 7,{\"a\":1E5\n,\"b\":0}, 3.25]");
    ASSERT_TRUE(document.has_value());
    EXPECT_EQ(write(document->root()), R"([12.50,-0.0,7,{"a":1E5,"b":0},3.25])");
    EXPECT_EQ(through(" 8.0 "), "8.0");
}

// RFC 8259 section 6 sets no limit to a number; a double ends near 1.8e308.
TEST(JsonReaderTest, NumbersBeyondADoubleKeepTheirCharacters) {
    // The first, from memory: 46 characters at which a full-precision number path of RapidJSON read out of
    // bounds.
    for (const std::string& number :
         {std::string("128.74836467836484838364836483643636483648e-336"), std::string("1E309"),
          std::string("-1e400"), std::string("0E999"), std::string("1.5E+999999"), std::string(400, '7'),
          "-0." + std::string(400, '0') + "1",
          std::string(400, '7') + "." + std::string(400, '3') + "e-4000"}) {
        EXPECT_EQ(through(number), number);
        const std::string around = R"({"a":"1E309, \"-2e999","b":[)" + number + R"(,1E5,-0,12],"c":"x"})";
        EXPECT_EQ(through(around), around);
    }
}

TEST(JsonReaderTest, WhatIsNoJsonAtAllIsNamed) {
    EXPECT_EQ(refusal("<Patient/>").message, "this is XML or HTML, and JSON is expected");
    EXPECT_EQ(refusal("\xEF\xBB\xBF{}").message, "a byte order mark is not allowed in front of JSON");
}

TEST(JsonReaderTest, MistakesBesideLargeNumbersAreFound) {
    for (const char* text : {"[1E309,01]", "[1E309,1e]", "[1E309,-]", "[1E309,1.2.3]", "[1E309",
                             "[1E309,1E5e3]", R"([1E309,{"a":1,"a":2}])", "[1E309,\"\x01\"]"}) {
        EXPECT_TRUE(read(text).has_error()) << text;
    }
    EXPECT_EQ(place(refusal("[1E309,\n 2E400, x]")), "2:9 /2");
}

TEST(JsonReaderTest, NumbersOutsideTheGrammarAreRefused) {
    // RFC 8259 section 6.
    for (const char* number :
         {"01", "+1", ".5", "1.", "1.e3", "1e", "1e+", "-", "--1", "0x10", "NaN", "Infinity", "1_0"}) {
        EXPECT_TRUE(read(number).has_error()) << number;
    }
}

TEST(JsonReaderTest, MembersKeepTheirOrder) {
    const std::string text = R"({"z":1,"a":{"y":2,"b":3},"m":[3,1,2],"":null,"k":true,"l":false})";
    EXPECT_EQ(through(text), text);
}

TEST(JsonReaderTest, EmptyContainersStayWhatTheyAre) {
    EXPECT_EQ(through(" { } "), "{}");
    EXPECT_EQ(through("[\n]"), "[]");
    EXPECT_EQ(through(R"({"a":{},"b":[],"c":""})"), R"({"a":{},"b":[],"c":""})");
}

TEST(JsonReaderTest, EscapesAreReadAsTheirCharacters) {
    // RFC 8259 section 7, with its example of a surrogate pair: U+1D11E, the G clef.
    const auto document = read(R"("\"\\\/\b\f\n\r\t\u00e9\uD834\uDD1E")");
    ASSERT_TRUE(document.has_value());
    EXPECT_EQ(document->root().text(), "\"\\/\b\f\n\r\té\U0001D11E");
}

TEST(JsonReaderTest, EscapedZeroCharacterIsPartOfTheText) {
    const auto document = read(R"("a\u0000b")");
    ASSERT_TRUE(document.has_value());
    EXPECT_EQ(document->root().text(), std::string_view("a\0b", 3));
    EXPECT_EQ(write(document->root()), R"("a\u0000b")");
}

TEST(JsonReaderTest, HalfASurrogatePairIsRefused) {
    for (const char* text : {R"("\uD834")", R"("\uD834x")", R"("\uD834\u0041")", R"("\uD834\uD834")",
                             R"("\uDC00")", R"({"\uDC00":1})"}) {
        EXPECT_TRUE(read(text).has_error()) << text;
    }
}

TEST(JsonReaderTest, TextThatIsNotUtf8IsRefused) {
    // A lone continuation, a cut sequence, overlong forms, an encoded surrogate, beyond U+10FFFF (RFC 3629).
    for (const char* bytes :
         {"\x80", "\xC3", "\xC0\xAF", "\xE0\x80\xAF", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xFF"}) {
        EXPECT_TRUE(read("\"" + std::string(bytes) + "\"").has_error());
        EXPECT_TRUE(read("{\"" + std::string(bytes) + "\":1}").has_error());
    }
}

TEST(JsonReaderTest, RawControlCharacterInATextIsRefusedWhereverItStands) {
    // RFC 8259 section 7: U+0000 to U+001F have to be escaped.
    for (char control = 1; control < 0x20; ++control) {
        for (std::size_t before = 0; before < 36; ++before) {
            const std::string text = '"' + std::string(before, 'a') + control + std::string(40, 'b') + '"';
            const ReadError error = refusal(text);
            const bool ends_line = control == '\n' || control == '\r';
            EXPECT_EQ(error.message,
                      ends_line
                          ? "a text is not closed on its line"
                          : "a control character is written as an escape in a text, like \\t or \\u001B");
            EXPECT_EQ(error.offset, before + 1);
        }
    }
    EXPECT_EQ(through("\"a\x20\x7F\""), "\"a\x20\x7F\"");
}

TEST(JsonReaderTest, EscapesMayStandAnywhereInATextOfAnyLength) {
    for (std::size_t before = 0; before < 36; ++before) {
        for (std::size_t behind = 0; behind < 36; behind += 5) {
            const std::string a(before, 'a');
            const std::string b(behind, 'b');
            const std::string text = R"({")" + a + R"(\n":")" + b + R"(\u20AC\\)" + a + R"(\"","z":-1.50})";
            const auto document = read(text);
            ASSERT_TRUE(document.has_value()) << text;
            const Value& first = document->root().front();
            EXPECT_EQ(first.name(), a + '\n');
            EXPECT_EQ(first.text(), b + "€\\" + a + '"');
            EXPECT_EQ(document->root().find("z")->text(), "-1.50");
            EXPECT_EQ(write(document->root()),
                      R"({")" + a + R"(\n":")" + b + R"(€\\)" + a + R"(\"","z":-1.50})");
        }
    }
}

TEST(JsonReaderTest, WhiteSpaceOfAnyLengthIsSkipped) {
    for (std::size_t length = 0; length < 40; ++length) {
        const std::string blank = "\r\n" + std::string(length, ' ') + '\t';
        EXPECT_EQ(through(blank + "{" + blank + "\"a\"" + blank + ":" + blank + "[1" + blank + "," + blank +
                          "2" + blank + "]" + blank + "}" + blank),
                  R"({"a":[1,2]})");
    }
}

TEST(JsonReaderTest, TextThatIsNotUtf8IsRefusedWhereItIsNot) {
    const ReadError error = refusal("{\n \"a\": [\"été \xC3(\", 1]}");
    EXPECT_EQ(error.message, "a text is not valid UTF-8");
    EXPECT_EQ(place(error), "2:15 /a/0");
    EXPECT_EQ(place(refusal("[1,\xC3]")), "1:4 /1");
    // What is wrong before it is told first.
    EXPECT_EQ(place(refusal("[1 2, \"\xFF\"]")), "1:4 /1");
}

TEST(JsonReaderTest, ZeroByteIsRefusedWhereverItStands) {
    using namespace std::string_view_literals;
    EXPECT_EQ(refusal("{}\0{}"sv).message, "a zero byte is not allowed in JSON");
    EXPECT_EQ(place(refusal("{\n \0}"sv)), "2:2 ");
}

TEST(JsonReaderTest, TextBehindTheDocumentIsRefused) {
    EXPECT_EQ(place(refusal("{} {}")), "1:4 ");
    EXPECT_EQ(place(refusal("[]\n]")), "2:1 ");
    EXPECT_EQ(through("{} \r\n\t "), "{}");
}

TEST(JsonReaderTest, TextsThatAreNoDocumentAreRefused) {
    for (const char* text : {"", "  ", "{", "[", "\"", "{\"a\"", "{\"a\":", "{\"a\":1,}", "[1,]", "[1 2]",
                             "{a:1}", "{'a':1}", "tru", "nul", "// x\n{}", "\xEF\xBB\xBF{}"}) {
        EXPECT_TRUE(read(text).has_error()) << text;
    }
}

TEST(JsonReaderTest, TwoMembersOfOneNameAreRefused) {
    const ReadError error = refusal("{\n  \"a\": 1,\n  \"a\": 2}");
    EXPECT_EQ(error.message, "two members of an object have the same name");
    EXPECT_EQ(place(error), "3:8 /a");
    EXPECT_TRUE(read(R"({"a":1,"\u0061":2})").has_error());
    EXPECT_TRUE(read(R"([{"b":{"a":1,"a":1}}])").has_error());
    EXPECT_TRUE(read(R"([{"a":1},{"a":2,"A":3}])").has_value());
}

TEST(JsonReaderTest, FirstRepeatedNameOfAnObjectIsTold) {
    for (const int members : {0, 10, 1000}) {
        std::string text = R"({"z":1,"b":2,"z":3,"b":4)";
        const std::size_t offset = text.find('3');
        for (int i = 0; i < members; ++i)
            text += ",\"n" + std::to_string(i) + "\":null";
        const ReadError error = refusal(text + "}");
        EXPECT_EQ(error.offset, offset);
        EXPECT_EQ(error.pointer, "/z");
    }
}

TEST(JsonReaderTest, ObjectMayHaveManyMembers) {
    std::string text = "{";
    for (int i = 0; i < 100'000; ++i)
        text += "\"n" + std::to_string(i) + "\":0,";
    EXPECT_TRUE(read(text + "\"n\":0}").has_value());
    EXPECT_EQ(refusal(text + "\"n99999\":0}").pointer, "/n99999");
}

TEST(JsonReaderTest, ErrorSaysLineColumnAndPointer) {
    const ReadError error =
        refusal("{\n  \"entries\": [\n    {\"amount\": 1},\n    {\"amount\": 0,18x}\n  ]\n}");
    EXPECT_EQ(
        error.message,
        "expected a member name in quotes (a decimal has a point in JSON, and no comma stands behind the "
        "last member)");
    EXPECT_EQ(place(error), "4:18 /entries/1/amount");
    EXPECT_EQ(error.offset, 53u);
}

TEST(JsonReaderTest, PointerEscapesTildeAndSlash) {
    // RFC 6901 section 3.
    EXPECT_EQ(pointer_token("a/b~c"), "a~1b~0c");
    EXPECT_EQ(pointer_token("~1"), "~01");
    EXPECT_EQ(refusal(R"({"a/b": {"m~n": x}})").pointer, "/a~1b/m~0n");
}

TEST(JsonReaderTest, EveryValueKnowsWhereItBegan) {
    const std::string text =
        R"( {"a\n": "t\u00e9\"xt", "b": -12.50, "c": [true, null, false], "d": {}, "e":0})";
    const auto document = read(text);
    ASSERT_TRUE(document.has_value());
    const Value& root = document->root();
    EXPECT_EQ(root.offset(), 1U);
    EXPECT_EQ(root.find("a\n")->offset(), text.find("\"t\\u"));
    EXPECT_EQ(root.find("b")->offset(), text.find("-12"));
    EXPECT_EQ(root.find("c")->offset(), text.find("[true"));
    auto item = root.find("c")->begin();
    EXPECT_EQ(item->offset(), text.find("true"));
    EXPECT_EQ((++item)->offset(), text.find("null"));
    EXPECT_EQ((++item)->offset(), text.find("false"));
    EXPECT_EQ(root.find("d")->offset(), text.find("{}"));
    EXPECT_EQ(root.find("e")->offset(), text.find("0}"));
}

TEST(JsonReaderTest, DepthIsLimited) {
    EXPECT_TRUE(read(nested(64)).has_value());
    const ReadError error = refusal(nested(65));
    EXPECT_EQ(error.message, "the document nests deeper than 64 levels");
    EXPECT_EQ(error.position.column, 65u);
}

TEST(JsonReaderTest, MillionOpenBracketsAreRefusedWithoutACrash) {
    EXPECT_EQ(refusal(std::string(1'000'000, '[')).message, "the document nests deeper than 64 levels");
    Limits deep;
    deep.depth = 2'000'000;
    deep.values = 2'000'000;
    EXPECT_TRUE(read(std::string(1'000'000, '['), deep).has_error());
}

TEST(JsonReaderTest, BytesAndValuesAreLimited) {
    Limits limits;
    limits.bytes = 10;
    limits.values = 4;
    EXPECT_TRUE(read("[1,2,3]   ", limits).has_value());
    EXPECT_EQ(refusal("[1,2,3]    ", limits).message, "the text is longer than 10 bytes");
    EXPECT_EQ(refusal("[1,2,3,4]", limits).message, "the document has more than 4 values");
    EXPECT_EQ(refusal("[1,2,3,[]]", limits).message, "the document has more than 4 values");
}

TEST(JsonReaderTest, TextsNamesAndNumbersAreLimited) {
    Limits limits;
    limits.string_bytes = 3;
    EXPECT_TRUE(read(R"({"abc":"abc","d":123})", limits).has_value());
    EXPECT_EQ(refusal(R"("abcd")", limits).message, "a text is longer than 3 bytes");
    EXPECT_EQ(refusal("1234", limits).message, "a text is longer than 3 bytes");
    EXPECT_EQ(refusal(R"({"abcd":1})", limits).message, "a member name is too long");
}

TEST(JsonReaderTest, UncheckedRefusalIsLoud) {
    EXPECT_THROW(read("{").value(), std::runtime_error);
}

}  // namespace

}  // namespace nightferry::fhir::json
