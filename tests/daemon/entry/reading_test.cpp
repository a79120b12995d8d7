// Good input: what it means, that every format means the same, and that it survives being stored.
#include "daemon/entry/body.hpp"
#include "daemon/entry/reader.hpp"
#include "tests/daemon/entry/samples.hpp"

namespace nightferry::entry {

namespace {

using namespace test;

std::string time_of(const Submission& submission) {
    return submission.entry ? to_text(submission.entry->time) : "none";
}

Amount amount_of(const Submission& submission) {
    return std::get<DoseGiven>(submission.entry.value().what).amount;
}

std::string dose_with(const std::string& amount) {
    return R"({"type":"dose_given","person":"juniper","time":"2026-10-12T08:00","by":"marlow","medicine":"enoxaparin-100",)"
           R"("region":"abdomen","side":"left",)" +
           amount + "}";
}

std::string finding_with(const std::string& members) {
    return R"({"type":"finding","person":"juniper","time":"2026-10-12T08:00","by":"self","region":"thigh","side":"left",)" +
           members + "}";
}

TEST(ReadingTest, EveryFormatSaysTheSame) {
    for (const Sample& sample : samples) {
        const std::string expected = essence(one_from(sample.json));
        EXPECT_EQ(essence(one_from(sample.json, Format::json)), expected);
        EXPECT_EQ(essence(one_from("[\n" + sample.json + "\n]", Format::json)), expected);
        EXPECT_EQ(essence(one_from(sample.csv, Format::csv)), expected);
        EXPECT_EQ(essence(one_from("\xEF\xBB\xBF" + sample.csv, Format::csv)), expected);
        EXPECT_EQ(essence(one_from("\xEF\xBB\xBF" + sample.json, Format::json)), expected);
    }
}

TEST(ReadingTest, LineEndsOfEverySystemAreRead) {
    const std::string rows =
        "type,person,time,by,kg\nweight,juniper,2026-10-12T08:00,marlow,18.4\n\n,,,,\n"
        "weight,juniper,2026-10-13T08:00,marlow,18.5";
    for (const std::string line_end : {"\n", "\r\n", "\r"}) {
        std::string text;
        for (const char c : rows)
            text += c == '\n' ? line_end : std::string(1, c);
        EXPECT_EQ(all_from(text, Format::csv).size(), 2u);
        EXPECT_EQ(all_from(text + line_end, Format::csv).size(), 2u);
    }
    EXPECT_EQ(all_from(weight.json + "\r\n\r\n" + vial_opened.json + "\r\n", Format::ndjson).size(), 2u);
}

TEST(ReadingTest, QuotedCellsMayHoldSeparatorsQuotesAndLineFeeds) {
    // RFC 4180 section 2, rules 5 to 7.
    const Submission submission = weight_row("time,note", "2026-10-12T08:00,\"a, \"\"b\"\"\nc; d\"");
    EXPECT_EQ(submission.entry.value().note, "a, \"b\"\nc; d");
    EXPECT_EQ(time_of(weight_row("\"time\"", "\"2026-10-12T08:00\"")), "2026-10-12T08:00:00+01:00");
}

TEST(ReadingTest, BlanksAroundCellsAndAroundNotesDoNotCount) {
    EXPECT_EQ(weight_row("time , note", " 2026-10-12T08:00\t,\"  \"").entry.value().note, std::nullopt);
    EXPECT_EQ(weight_with(R"("time":"2026-10-12T08:00","note":"\n well \n")").entry.value().note, "well");
}

TEST(ReadingTest, NullIsTheSameAsLeavingOut) {
    EXPECT_EQ(essence(weight_with(R"("time":"2026-10-12T08:00","note":null,"how":null)")),
              essence(weight_with(R"("time":"2026-10-12T08:00")")));
}

TEST(ReadingTest, BlankLinesBeforeTheHeaderDoNotCount) {
    EXPECT_EQ(essence(one_from("\r\n\n" + test::weight.csv, Format::csv)), essence(one_from(weight.json)));
}

TEST(ReadingTest, NotesHaveLineFeedsOnly) {
    const std::string note = "well\nno pain";
    EXPECT_EQ(weight_with(R"("time":"2026-10-12T08:00","note":"well\r\nno pain\r\n")").entry.value().note,
              note);
    EXPECT_EQ(weight_row("time,note", "2026-10-12T08:00,\"well\r\nno pain\"").entry.value().note, note);
}

TEST(ReadingTest, LabelsMayHaveSixtyFourCharactersOfAnyAlphabet) {
    std::string label;
    for (int i = 0; i < 64; ++i)
        label += "α";
    EXPECT_EQ(weight_with(R"("time":"2026-10-12T08:00","id":")" + label + "\"").id,
              test::household().ids().id_for("label:" + label));
}

TEST(ReadingTest, ExpiryMayLackItsDay) {
    std::string vial = vial_opened.json;
    vial.replace(vial.find("2027-03-31"), 10, "2027-03");
    EXPECT_EQ(std::get<VialOpened>(one_from(vial).entry.value().what).expires, "2027-03");
}

TEST(ReadingTest, DateColumnsStateTheirOrder) {
    EXPECT_EQ(time_of(weight_row("date,clock", "2026-10-02,08:00")), "2026-10-02T08:00:00+01:00");
    EXPECT_EQ(time_of(weight_row("date(YYYY-MM-DD),clock", "2026-10-02,8:00")), "2026-10-02T08:00:00+01:00");
    EXPECT_EQ(time_of(weight_row("date(DD.MM.YYYY),clock", "02.10.2026,08:00:30")),
              "2026-10-02T08:00:30+01:00");
    EXPECT_EQ(time_of(weight_row("date(DD/MM/YYYY),clock", "02/10/2026,20:15")), "2026-10-02T20:15:00+01:00");
    EXPECT_EQ(time_of(weight_row("clock,date(MM/DD/YYYY)", "20:15,10/02/2026")), "2026-10-02T20:15:00+01:00");
}

TEST(ReadingTest, AmountMayCarryItsUnit) {
    const Amount amount = amount_of(one_from(dose_with(R"("amount":"0.18 mL")")));
    EXPECT_EQ(amount, (Amount{Decimal(18, 2), Unit::millilitre}));
    EXPECT_EQ(amount_of(one_from(dose_with(R"("amount":"0,18  ml")"))), amount);
    EXPECT_EQ(amount_of(one_from(dose_with(R"("amount":"0.18mL")"))), amount);
    EXPECT_EQ(amount_of(one_from(dose_with(R"("amount":"18 mg")"))),
              (Amount{Decimal(18, 0), Unit::milligram}));
}

TEST(ReadingTest, OtherSpellingsMeanTheSame) {
    EXPECT_EQ(essence(one_from(finding_with(R"("finding":"hematoma","present":"true")"))),
              essence(one_from(finding_with(R"("finding":"haematoma","present":"yes")"))));
    EXPECT_EQ(essence(one_from(finding_with(R"("finding":"color_change","present":false)"))),
              essence(one_from(finding_with(R"("finding":"colour_change","present":"no")"))));
}

TEST(ReadingTest, FindingIsPresentUnlessItsLengthIsZero) {
    const auto present = [](const std::string& members) {
        return std::get<Finding>(one_from(finding_with(members)).entry.value().what).present;
    };
    EXPECT_TRUE(present(R"("finding":"bruise")"));
    EXPECT_TRUE(present(R"("finding":"bruise","length_cm":0.1)"));
    EXPECT_FALSE(present(R"("finding":"bruise","length_cm":0)"));
}

TEST(ReadingTest, LocalTimesAreReadInTheirZone) {
    EXPECT_EQ(time_of(weight_with(R"("time":"2026-10-12T08:00")")), "2026-10-12T08:00:00+01:00");
    EXPECT_EQ(time_of(weight_with(R"("time":"2026-10-12T08:00","zone":"Asia/Kolkata")")),
              "2026-10-12T08:00:00+05:30");
    EXPECT_EQ(time_of(weight_with(R"("time":"2026-10-12T08:00+03:00","zone":"Europe/Athens")")),
              "2026-10-12T08:00:00+03:00");
    EXPECT_EQ(time_of(weight_row("date,clock,zone", "2026-10-12,08:00,Europe/Athens")),
              "2026-10-12T08:00:00+03:00");
}

TEST(ReadingTest, OffsetSettlesAClockChange) {
    const Submission first = weight_with(R"("time":"2026-10-25T01:30+01:00")");
    const Submission second = weight_with(R"("time":"2026-10-25T01:30Z")");
    EXPECT_EQ(time_of(first), "2026-10-25T01:30:00+01:00");
    EXPECT_EQ(time_of(second), "2026-10-25T01:30:00+00:00");
    EXPECT_NE(first.id, second.id);
    EXPECT_EQ(essence(weight_row("date,clock", "2026-10-25,1:30+01:00")), essence(first));
    EXPECT_EQ(time_of(weight_with(R"("time":"2026-03-29T01:30+00:00")")), "2026-03-29T01:30:00+00:00");
}

TEST(ReadingTest, ClocksMayDifferByFiveMinutes) {
    EXPECT_EQ(time_of(weight_with(R"("time":"2026-11-02T12:05")")), "2026-11-02T12:05:00+00:00");
    EXPECT_TRUE(
        weight_with(R"("time":"2026-10-12T08:05","recorded":"2026-10-12T08:00")").recorded.has_value());
}

TEST(EntryIdentityTest, RecordHandedInTwiceMeetsItself) {
    const EntryId id = one_from(dose_with(R"("amount":"0.18 mL")")).id;
    EXPECT_EQ(one_from(dose_with(R"("amount":"0,180 ml","note":"as said")")).id, id);
    // Python's uuid5 over the hub's name space and
    // "dose_given|juniper|2026-10-12T07:00:00Z|marlow|enoxaparin-100".
    EXPECT_EQ(id.to_string(), "673b4f54-f258-5aae-9659-314957a533d3");
}

TEST(EntryIdentityTest, AnotherCarerOrTimeIsAnotherEntry) {
    const std::string dose = dose_with(R"("amount":"0.18 mL")");
    const auto changed = [&](const std::string& from, const std::string& to) {
        std::string other = dose;
        other.replace(other.find(from), from.size(), to);
        return one_from(other).id;
    };
    EXPECT_NE(changed("marlow", "tove"), one_from(dose).id);
    EXPECT_NE(changed("T08:00", "T08:01"), one_from(dose).id);
    EXPECT_EQ(changed("T08:00", "T07:00Z"), one_from(dose).id);
}

TEST(EntryIdentityTest, LabelAndUuidNameTheEntry) {
    const EntryId label = test::household().ids().id_for("label:w1");
    EXPECT_EQ(weight_with(R"("time":"2026-10-12T08:00","id":"w1")").id, label);
    EXPECT_EQ(one_from(test::amendment.json).id, label);
    EXPECT_EQ(one_from(test::retraction.json).id, label);
    const std::string uuid = "f81d4fae-7dec-11d0-a765-00a0c91e6bf6";  // The example of RFC 9562 section 4.
    EXPECT_EQ(weight_with(R"("time":"2026-10-12T08:00","id":"urn:uuid:)" + uuid + "\"").id.to_string(), uuid);
}

TEST(EntryBodyTest, StoredTextReadsBackAndCanBeHandedInAgain) {
    for (const Sample& sample : samples) {
        const std::string body = to_body(one_from(sample.json));
        const auto stored = from_body(body);
        ASSERT_TRUE(stored.has_value()) << body;
        EXPECT_EQ(to_body(*stored), body);
        EXPECT_EQ(to_body(one_from(body)), body);
    }
}

TEST(EntryBodyTest, StoredTextKeepsDigitsAndOffset) {
    EXPECT_EQ(
        to_body(weight_with(
            R"("time":"2026-10-12T08:00","id":"w1","note":"well","recorded":"2026-10-12T07:01Z")")),
        R"({"action":"record","id":")" + test::household().ids().id_for("label:w1").to_string() +
            R"(","type":"weight","person":"juniper","time":"2026-10-12T08:00:00+01:00","by":"marlow",)"
            R"("kg":18.4,"how":"measured","note":"well","recorded":"2026-10-12T07:01:00+00:00","recorded_by":"marlow"})");
}

TEST(EntryBodyTest, EssenceIgnoresTrailingZerosAndOffsetsOnly) {
    const std::string expected = essence(one_from(dose_with(R"("amount":"0.2 mL","x_cm":5,"y_cm":0)")));
    EXPECT_EQ(essence(one_from(dose_with(R"("amount":"0.20 mL","x_cm":5.0,"y_cm":0.00)"))), expected);
    EXPECT_NE(essence(one_from(dose_with(R"("amount":"0.21 mL","x_cm":5,"y_cm":0)"))), expected);
    EXPECT_NE(essence(one_from(dose_with(R"("amount":"20 mg","x_cm":5,"y_cm":0)"))), expected);
    EXPECT_EQ(essence(weight_with(R"("time":"2026-10-12T09:30+02:30")")),
              essence(weight_with(R"("time":"2026-10-12T08:00")")));
}

TEST(EntryBodyTest, OtherTextsAreUnreadable) {
    const std::string body = to_body(one_from(test::dose_given.json));
    for (const std::string& text :
         {std::string(), std::string("[]"), std::string("{}"), body.substr(0, body.size() - 1)}) {
        ASSERT_TRUE(from_body(text).has_error()) << text;
        EXPECT_EQ(from_body(text).error().code, Errc::unreadable);
    }
    for (const char* member :
         {"\"unit\":\"mL\",", "\"action\":\"record\",", "\"side\":\"left\",", "\"amount\":0.18,"}) {
        std::string cut = body;
        cut.erase(cut.find(member), std::string_view(member).size());
        EXPECT_TRUE(from_body(cut).has_error()) << cut;
    }
}

TEST(FormatTest, FileEndingsAndMediaTypesNameTheFormat) {
    EXPECT_EQ(format_of_file("october.CSV"), Format::csv);
    EXPECT_EQ(format_of_file("a.b.jsonl"), Format::ndjson);
    EXPECT_EQ(format_of_file("log.ndjson"), Format::ndjson);
    EXPECT_EQ(format_of_file("log.json"), Format::json);
    for (const char* name : {"log", "log.xlsx", "csv", "log.csv.bak", ""})
        EXPECT_EQ(format_of_file(name), std::nullopt);
    EXPECT_EQ(format_of_media_type("text/csv; charset=utf-8"), Format::csv);
    EXPECT_EQ(format_of_media_type(" Application/JSON "), Format::json);
    EXPECT_EQ(format_of_media_type("application/x-ndjson"), Format::ndjson);
    EXPECT_EQ(format_of_media_type("text/plain"), std::nullopt);
}

}  // namespace

}  // namespace nightferry::entry
