#include "daemon/core/words.hpp"

#include "daemon/core/ids.hpp"

namespace nightferry {

namespace {

std::string any(std::vector<std::string_view> choices) {
    return any_of(choices);
}
std::string all(std::vector<std::string_view> items) {
    return all_of(items);
}

std::string hint(std::string_view written) {
    static constexpr std::array<std::string_view, 4> choices{"amount", "unit", "abdomen", "dose_given"};
    return did_you_mean(written, choices);
}

std::string letters(std::size_t count, std::string_view tail = {}) {
    return std::string(count, 'a').append(tail);
}
std::string quoted(const std::string& text) {
    return "'" + text + "'";
}

TEST(WordsTest, ChoicesAreJoinedAsAPersonWouldSay) {
    EXPECT_EQ(any({}), "");
    EXPECT_EQ(any({"a"}), "a");
    EXPECT_EQ(any({"a", "b"}), "a or b");
    EXPECT_EQ(any({"a", "b", "c"}), "a, b or c");
    EXPECT_EQ(all({"a", "b", "c"}), "a, b and c");
}

TEST(WordsTest, NearestChoiceIsOffered) {
    EXPECT_EQ(hint("amuont"), " Did you mean 'amount'?");
    EXPECT_EQ(hint("Amount"), " Did you mean 'amount'?");
    EXPECT_EQ(hint("dose given"), " Did you mean 'dose_given'?");
    EXPECT_EQ(hint("abdomin"), " Did you mean 'abdomen'?");
    EXPECT_EQ(hint("nit"), " Did you mean 'unit'?");
}

TEST(WordsTest, NothingIsOfferedWhenNothingIsNear) {
    EXPECT_EQ(hint(""), "");
    EXPECT_EQ(hint("weight"), "");
    EXPECT_EQ(hint("x"), "");
    EXPECT_EQ(hint(std::string(65, 'a')), "");
    EXPECT_EQ(did_you_mean("amount", {}), "");
}

TEST(WordsTest, CountsAgreeWithTheirNoun) {
    EXPECT_EQ(counted(0, "entry", "entries"), "0 entries");
    EXPECT_EQ(counted(1, "entry", "entries"), "1 entry");
    EXPECT_EQ(counted(2, "entry", "entries"), "2 entries");
}

TEST(WordsTest, QuotedTextIsCutAfterSixtyBytes) {
    EXPECT_EQ(in_quotes(""), "''");
    EXPECT_EQ(in_quotes(letters(60)), quoted(letters(60)));
    EXPECT_EQ(in_quotes(letters(61)), quoted(letters(60, "…")));
}

TEST(WordsTest, QuotedTextIsCutBetweenCharacters) {
    EXPECT_EQ(in_quotes(letters(58, "éé")), quoted(letters(58, "é…")));
    EXPECT_EQ(in_quotes(letters(59, "é")), quoted(letters(59, "…")));
    EXPECT_EQ(in_quotes(letters(57, "\U0001F489")), quoted(letters(57, "…")));
}

TEST(WordsTest, QuotedTextShowsNoControlCharacters) {
    EXPECT_EQ(in_quotes("a\nb\tc\x1B[2Jd\x7F"), "'a?b?c?[2Jd?'");
    EXPECT_EQ(in_quotes("a\xC2\x85z"), "'a?z'");
    EXPECT_EQ(in_quotes(std::string_view("a\0b", 3)), "'a?b'");
}

TEST(WordsTest, QuotedTextIsAlwaysUtf8) {
    EXPECT_EQ(in_quotes("caf\xE9"), "'caf?'");
    EXPECT_EQ(in_quotes("\xE2\x82"),
              "'?"
              "?'");
    EXPECT_EQ(in_quotes("€ é \U0001F489"), "'€ é \U0001F489'");
}

TEST(WordsTest, TrimmingTakesBlanksFromTheEndsOnly) {
    EXPECT_EQ(trimmed(" \t\r\n a b \n"), "a b");
    EXPECT_EQ(trimmed(" \n "), "");
    EXPECT_EQ(trimmed(""), "");
}

TEST(WordsTest, CharactersAreCountedNotBytes) {
    EXPECT_EQ(characters_in(""), 0u);
    EXPECT_EQ(characters_in("a é € \U0001F489"), 7u);
}

TEST(WordsTest, PlainTextIsUtf8WithoutControlCharacters) {
    EXPECT_TRUE(is_plain_text("", false));
    EXPECT_TRUE(is_plain_text("Größe – 大 \U0001F489", false));
    EXPECT_FALSE(is_plain_text("a\x01", false));
    EXPECT_FALSE(is_plain_text("a\x7F", false));
    EXPECT_FALSE(is_plain_text("a\xC2\x9F", false));
    EXPECT_FALSE(is_plain_text(std::string_view("\0", 1), true));
}

TEST(WordsTest, LineFeedsAndTabsArePlainOnlyWhenAskedFor) {
    EXPECT_FALSE(is_plain_text("a\nb", false));
    EXPECT_FALSE(is_plain_text("a\tb", false));
    EXPECT_TRUE(is_plain_text("a\n\tb", true));
    EXPECT_FALSE(is_plain_text("a\x1B", true));
}

TEST(WordsTest, BytesThatAreNotUtf8AreNotPlainText) {
    // RFC 3629: lone continuation, cut sequences, overlong forms, surrogates, beyond U+10FFFF.
    for (const char* bytes : {"\x80", "\xC3", "\xE2\x82", "\xF0\x9F\x92", "\xC0\xAF", "\xC1\xBF",
                              "\xE0\x9F\xBF", "\xF0\x8F\xBF\xBF", "\xED\xA0\x80", "\xED\xBF\xBF",
                              "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFF", "\xC3z"}) {
        EXPECT_FALSE(is_plain_text(bytes, true)) << in_quotes(bytes);
    }
    for (const char* text : {"\xC2\xA0", "\xE0\xA0\x80", "\xED\x9F\xBF", "\xEE\x80\x80", "\xF0\x90\x80\x80",
                             "\xF4\x8F\xBF\xBF"}) {
        EXPECT_TRUE(is_plain_text(text, false));
    }
}

TEST(EntryIdTest, UuidIsReadInEveryUsualForm) {
    // RFC 9562 section 4 gives this UUID as its example.
    const std::string uuid = "f81d4fae-7dec-11d0-a765-00a0c91e6bf6";
    for (const char* text : {"f81d4fae-7dec-11d0-a765-00a0c91e6bf6", "F81D4FAE-7DEC-11D0-A765-00A0C91E6BF6",
                             "urn:uuid:f81d4fae-7dec-11d0-a765-00a0c91e6bf6"}) {
        const auto id = EntryId::parse(text);
        ASSERT_TRUE(id.has_value()) << text;
        EXPECT_EQ(id->to_string(), uuid);
        EXPECT_EQ(id->urn(), "urn:uuid:" + uuid);
    }
}

TEST(EntryIdTest, OtherTextsAreNoUuid) {
    for (const char* text :
         {"", "f81d4fae7dec11d0a76500a0c91e6bf6", "{f81d4fae-7dec-11d0-a765-00a0c91e6bf6}",
          "f81d4fae-7dec-11d0-a765-00a0c91e6bf", "f81d4fae-7dec-11d0-a765-00a0c91e6bf6 ",
          "g81d4fae-7dec-11d0-a765-00a0c91e6bf6", "f81d4fae-7dec-11d0-a76500a0c91e6bf6-",
          "urn:uuid:urn:uuid:f81d4fae-7dec-11d0-a765-00a0c91e6bf6", "00000000-0000-0000-0000-000000000000"}) {
        EXPECT_FALSE(EntryId::parse(text).has_value()) << text;
    }
}

TEST(EntryIdTest, OrderFollowsTheText) {
    const auto low = *EntryId::parse("0f000000-0000-0000-0000-000000000000");
    const auto high = *EntryId::parse("f0000000-0000-0000-0000-000000000000");
    EXPECT_LT(low, high);
    EXPECT_GT(high, low);
    EXPECT_EQ(low, low);
    EXPECT_NE(low, high);
    EXPECT_LT(EntryId(), low);
}

TEST(NameSpaceTest, NameGivesTheSameIdEveryTime) {
    EXPECT_EQ(NameSpace("test-home").id_for("label:morning-1"),
              NameSpace("test-home").id_for("label:morning-1"));
    EXPECT_NE(NameSpace("test-home").id_for("label:morning-1"),
              NameSpace("test-home").id_for("label:morning-2"));
    EXPECT_NE(NameSpace("test-home").id_for("label:morning-1"),
              NameSpace("other-home").id_for("label:morning-1"));
}

TEST(NameSpaceTest, IdsAreNameBasedUuidsOfVersionFive) {
    // Computed with Python's uuid module: uuid5(uuid5(NAMESPACE_URL, "nightferry:hub:test-home"), name).
    const NameSpace home("test-home");
    EXPECT_EQ(home.id_for("label:morning-1").to_string(), "a839bd2f-8a53-51a8-aa77-4fef73e75973");
    EXPECT_EQ(NameSpace("other-home").id_for("label:morning-1").to_string(),
              "a24a54ce-7176-5486-8b00-0baab9c52878");
    // RFC 9562 section 5.5: version 5 in the seventh octet, variant 10 in the ninth.
    const std::string id = home.id_for("anything").to_string();
    EXPECT_EQ(id[14], '5');
    EXPECT_THAT(std::string("89ab"), testing::HasSubstr(id.substr(19, 1)));
}

}  // namespace

}  // namespace nightferry
