#include "fhir/json/document.hpp"

#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::fhir::json {

namespace {

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

TEST(JsonDocumentTest, BuildingGoesOnInADocumentThatWasRead) {
    auto document = read(R"({"a":[1],"b":{},"c":"text"})");
    ASSERT_TRUE(document.has_value());
    Value& root = document->root();
    for (int i = 0; i < 1000; ++i)
        root.add_array("list" + std::to_string(i)).push_string(std::string(100, 'x'));
    EXPECT_EQ(root.size(), 1003U);
    EXPECT_EQ(std::distance(root.begin(), root.end()), 1003);
    EXPECT_EQ(root.find("list999")->front().text(), std::string(100, 'x'));
    EXPECT_EQ(root.string_at("c"), "text");
}

TEST(JsonDocumentTest, ValuesWithoutChildrenHaveNone) {
    const auto document = read(R"(["text", 12, true, null, [], {}])");
    ASSERT_TRUE(document.has_value());
    for (const Value& item : document->root()) {
        EXPECT_EQ(item.size(), 0U);
        EXPECT_EQ(item.begin(), item.end());
    }
    EXPECT_EQ(document->root().text(), "");
}

TEST(JsonDocumentTest, LongTextsLeaveRoomForShortOnes) {
    Document document(Kind::array);
    const std::string large(3'000'000, 'l');
    for (int i = 0; i < 10; ++i) {
        document.root().push_string(large);
        document.root().push_string("short");
    }
    std::size_t bytes = 0;
    for (const Value& item : document.root())
        bytes += item.text().size();
    EXPECT_EQ(bytes, 10 * (large.size() + 5));
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
