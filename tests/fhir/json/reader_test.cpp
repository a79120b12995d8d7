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

TEST(JsonReaderTest, NumberOfManyDigitsAndTinyExponentIsTextOrRefused) {
    // from memory: 46 characters at which a full-precision number path of RapidJSON read out of bounds.
    const std::string number = "128.74836467836484838364836483643636483648e-336";
    const std::string result = through(number);
    EXPECT_TRUE(result == number || result.starts_with("refused: ")) << result;
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

TEST(JsonReaderTest, RawControlCharacterInATextIsRefused) {
    EXPECT_TRUE(read("\"a\nb\"").has_error());
    EXPECT_TRUE(read("\"a\x1F\"").has_error());
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

TEST(JsonReaderTest, TextsNumbersAndWordsKnowWhereTheyBegan) {
    const std::string text = R"( {"a": "text", "b": -12.50, "c": [true, null, false]})";
    const auto document = read(text);
    ASSERT_TRUE(document.has_value());
    const Value& root = document->root();
    EXPECT_EQ(root.find("a")->offset(), text.find("\"text"));
    EXPECT_EQ(root.find("b")->offset(), text.find("-12"));
    EXPECT_EQ(root.find("c")->front().offset(), text.find("true"));
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

TEST(JsonWriterTest, ControlCharactersAreEscapedAndOthersAreNot) {
    EXPECT_EQ(through(R"("\"\\\n\u001F/\u00E9\u20AC\uD834\uDD1E")"), "\"\\\"\\\\\\n\\u001F/é€\U0001D11E\"");
}

TEST(JsonWriterTest, PrettyTextIsIndentedByTwoAndEndsItsLine) {
    const auto document = read(R"({"a":[1,{"b":1.0}],"c":[]})");
    ASSERT_TRUE(document.has_value());
    const std::string pretty = write_pretty(document->root());
    EXPECT_EQ(pretty, "{\n  \"a\": [\n    1,\n    {\n      \"b\": 1.0\n    }\n  ],\n  \"c\": []\n}\n");
    EXPECT_EQ(through(pretty), R"({"a":[1,{"b":1.0}],"c":[]})");
}

TEST(JsonDocumentTest, BuiltValuesAreWrittenInTheirOrder) {
    Document document;
    document.root().add_string("resourceType", "Weight \"q\"");
    document.root().add_number("kg", "18.40");
    document.root().add_boolean("measured", true);
    Value& list = document.root().add_array("list");
    list.push_string("");
    list.push_object().add_object("inner");
    EXPECT_EQ(write(document.root()),
              R"({"resourceType":"Weight \"q\"","kg":18.40,"measured":true,"list":["",{"inner":{}}]})");
    EXPECT_EQ(list.size(), 2u);
    EXPECT_EQ(list.name(), "list");
}

TEST(JsonDocumentTest, CopiesOutliveTheDocumentTheyCameFrom) {
    Document document(Kind::array);
    {
        const auto other = read(R"({"a":[1.00,{"b":null}],"c":"é","d":false})");
        ASSERT_TRUE(other.has_value());
        document.root().push_copy(other->root());
        document.root().push_object().add_copy("a", *other->root().find("a"));
    }
    EXPECT_EQ(write(document.root()),
              R"([{"a":[1.00,{"b":null}],"c":"é","d":false},{"a":[1.00,{"b":null}]}])");
}

TEST(JsonDocumentTest, MovingKeepsValuesValid) {
    Document first;
    Value& inner = first.root().add_object("inner");
    Document second = std::move(first);
    inner.add_string("added", "after the move");
    Document third(Kind::array);
    third = std::move(second);
    EXPECT_EQ(third.root().find("inner"), &inner);
    EXPECT_EQ(write(third.root()), R"({"inner":{"added":"after the move"}})");
}

TEST(JsonDocumentTest, AskingForWhatIsNotThereGivesNothing) {
    const auto document = read(R"({"text":"x","number":1})");
    ASSERT_TRUE(document.has_value());
    EXPECT_EQ(document->root().find("other"), nullptr);
    EXPECT_EQ(document->root().find("text")->find("text"), nullptr);
    EXPECT_EQ(document->root().string_at("text"), "x");
    EXPECT_EQ(document->root().string_at("number"), "");
}

}  // namespace

}  // namespace nightferry::fhir::json
