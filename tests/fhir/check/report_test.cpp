// What a report tells and in which order; and what it never tells: content of the resource.
#include <gtest/gtest.h>

#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::fhir::check {
namespace {

using spec::Release;

Report report_on(std::string_view text, Release release = Release::r4, const Options& options = {}) {
    const auto document = json::read(text);
    EXPECT_TRUE(document.has_value()) << text;
    return validate(document->root(), release, options);
}

std::vector<std::string> keys_of(const Report& report) {
    std::vector<std::string> keys;
    for (const Issue& issue : report.issues)
        keys.emplace_back(issue.rule.key);
    return keys;
}

using Keys = std::vector<std::string>;

// An Observation with a narrative, so that no warning is due, and the given members.
std::string observation(const std::string& members) {
    return R"({"resourceType":"Observation","text":{"status":"generated","div":)"
           R"("<div xmlns=\"http://www.w3.org/1999/xhtml\">a</div>"},"status":"final","code":{"text":"a"})" +
           (members.empty() ? "" : "," + members) + "}";
}

std::string wrong_integers(std::size_t count) {
    std::string components;
    for (std::size_t i = 0; i < count; ++i)
        components += std::string(i == 0 ? "" : ",") + R"({"code":{"text":"a"},"valueInteger":1.5})";
    return observation("\"component\":[" + components + "]");
}

TEST(ReportTest, CompleteResourceHasNothingToTell) {
    for (const Release release : spec::releases) {
        const Report report = report_on(observation(""), release);
        EXPECT_TRUE(report.issues.empty());
        EXPECT_TRUE(report.valid());
        EXPECT_FALSE(report.cut_short);
    }
}

TEST(ReportTest, IssuesStandInDocumentOrder) {
    const Report report = report_on(
        R"({"resourceType":"Observation","status":"done","category":[{"text":""}],"valueInteger":1.5})",
        Release::r4);
    EXPECT_EQ(keys_of(report), (Keys{"min", "dom-6", "binding", "empty", "value"}));
    EXPECT_TRUE(std::ranges::is_sorted(report.issues, {}, &Issue::offset));
}

TEST(ReportTest, OffsetLeadsToTheValue) {
    const std::string text =
        "\n  " + observation(R"("issued":  "today", "category":[{"text":"a"},{}] ,"unknown":7)");
    const Report report = report_on(text);
    ASSERT_EQ(keys_of(report), (Keys{"value", "empty", "unknown-element"}));
    EXPECT_EQ(text.substr(report.issues[0].offset, 7), "\"today\"");
    EXPECT_EQ(text.substr(report.issues[1].offset, 2), "{}");
    EXPECT_EQ(text.substr(report.issues[2].offset, 1), "7");
    EXPECT_EQ(report.issues[2].pointer, "/unknown");
}

TEST(ReportTest, MissingElementIsToldAtTheObjectThatLacksIt) {
    const std::string text = observation(R"("component":[{"valueString":"a"}])");
    const Report report = report_on(text);
    ASSERT_EQ(keys_of(report), Keys{"min"});
    EXPECT_EQ(report.issues[0].expression, "Observation.component[0].code");
    EXPECT_EQ(report.issues[0].pointer, "/component/0");
    EXPECT_EQ(text[report.issues[0].offset], '{');
}

TEST(ReportTest, ErrorsBeyondTheMostAreCutOff) {
    Options options;
    options.issues_max = 3;
    const Report all = report_on(wrong_integers(3), Release::r4, options);
    EXPECT_EQ(all.issues.size(), 3u);
    EXPECT_FALSE(all.cut_short);
    const Report some = report_on(wrong_integers(4), Release::r4, options);
    EXPECT_EQ(some.issues.size(), 3u);
    EXPECT_TRUE(some.cut_short);
    EXPECT_FALSE(some.valid());
    EXPECT_EQ(some.issues.back().pointer, "/component/2/valueInteger");
}

TEST(ReportTest, OneHundredErrorsAreKeptUnlessToldOtherwise) {
    EXPECT_EQ(report_on(wrong_integers(101)).issues.size(), 100u);
}

TEST(ReportTest, OneErrorIsAlwaysKept) {
    Options options;
    options.issues_max = 0;
    const Report report = report_on(wrong_integers(2), Release::r4, options);
    EXPECT_EQ(report.issues.size(), 1u);
    EXPECT_FALSE(report.valid());
}

// A bundle of many resources without narratives must not hide the error in the last one.
TEST(ReportTest, WarningsLeaveRoomForErrors) {
    std::string entries;
    for (int i = 0; i < 5; ++i)
        entries += R"({"resource":{"resourceType":"Patient"}},)";
    const std::string text = R"({"resourceType":"Bundle","type":"collection","entry":[)" + entries +
                             R"({"resource":{"resourceType":"Patient","active":"yes"}}]})";
    Options options;
    options.issues_max = 2;
    const Report report = report_on(text, Release::r4, options);
    EXPECT_EQ(keys_of(report), (Keys{"dom-6", "dom-6", "kind"}));
    EXPECT_TRUE(report.cut_short);
    EXPECT_FALSE(report.valid());
}

TEST(ReportTest, WarningsCanBeTurnedOff) {
    const std::string text = R"({"resourceType":"Patient","name":[{"text":" "}],"active":1})";
    EXPECT_EQ(keys_of(report_on(text)), (Keys{"dom-6", "odd-text", "kind"}));
    Options options;
    options.warnings = false;
    EXPECT_EQ(keys_of(report_on(text, Release::r4, options)), Keys{"kind"});
}

// dom-6 is published as a warning: https://hl7.org/fhir/R4/domainresource.html#invs
TEST(ReportTest, MissingNarrativeIsAWarningButNotOfContainedResourcesAndBundles) {
    const Report report = report_on(
        R"({"resourceType":"Observation","contained":[{"resourceType":"Patient","id":"p"}],"status":"final",)"
        R"("code":{"text":"a"},"subject":{"reference":"#p"}})");
    EXPECT_EQ(keys_of(report), Keys{"dom-6"});
    EXPECT_EQ(report.issues[0].expression, "Observation");
    EXPECT_TRUE(report.valid());
    EXPECT_EQ(keys_of(report_on(R"({"resourceType":"Bundle","type":"collection"})")), Keys{});
}

// https://hl7.org/fhir/R4/datatypes.html#string: characters below 32 other than tab, line feed and return,
// and white space alone, "should not".
TEST(ReportTest, OddTextsAreWarnings) {
    for (const char* text : {" ", "\\n\\t", "a\\u0001", "\\u001b[1m", "\\u0000"}) {
        const Report report = report_on(observation(R"("valueString":")" + std::string(text) + '"'));
        EXPECT_EQ(keys_of(report), Keys{"odd-text"}) << text;
        EXPECT_TRUE(report.valid());
    }
    EXPECT_EQ(keys_of(report_on(observation(R"("valueString":"a\t\r\nb")"))), Keys{});
}

// dom-r4b, cpb-0, cnl-0, cnl-1, cod-1 and ident-1 are published as warnings, in hl7.fhir.r4b.examples 4.3.0,
// hl7.fhir.r4.examples 4.0.1 and hl7.fhir.r5.examples 5.0.0.
TEST(ReportTest, TypeThatIsNewInR4bIsOddInAnOlderOne) {
    const std::string text = observation(
        R"("contained":[{"resourceType":"Ingredient","id":"i","status":"active","role":{"text":"a"},)"
        R"("substance":{"code":{"concept":{"text":"b"}}}}],"extension":[{"url":"http://example.org/x",)"
        R"("valueReference":{"reference":"#i"}}])");
    EXPECT_EQ(keys_of(report_on(text, Release::r4b)), Keys{"dom-r4b"});
    EXPECT_EQ(keys_of(report_on(text, Release::r5)), Keys{});
}

std::string statement(const std::string& members) {
    return R"({"resourceType":"CapabilityStatement","text":{"status":"generated","div":)"
           R"("<div xmlns=\"http://www.w3.org/1999/xhtml\">a</div>"},"status":"active","date":"2026",)"
           R"("kind":"requirements","description":"d","fhirVersion":"4.0.1","format":["json"],)"
           R"("rest":[{"mode":"server"}],)" +
           members + "}";
}

TEST(ReportTest, NamesAreForPrograms) {
    EXPECT_EQ(keys_of(report_on(statement(R"("name":"A_b1")"))), Keys{});
    EXPECT_EQ(keys_of(report_on(statement(R"("name":"my name")"))), Keys{"cpb-0"});
    EXPECT_EQ(keys_of(report_on(statement(R"("name":"my name")"), Release::r4b)), Keys{"cpb-0"});
    EXPECT_EQ(keys_of(report_on(statement(R"("name":"my name")"), Release::r5)), Keys{"cnl-0"});
    EXPECT_EQ(keys_of(report_on(statement(R"("url":"http://a.example/b#c")"), Release::r5)), Keys{"cnl-1"});
    EXPECT_EQ(keys_of(report_on(statement(R"("url":"http://a.example/b#c")"))), Keys{});
}

TEST(ReportTest, CodingsAndIdentifiersShouldSaySomethingInR5) {
    const std::string text =
        observation(R"("method":{"coding":[{"display":"a"}]},"identifier":[{"system":"urn:x"}])");
    EXPECT_EQ(keys_of(report_on(text, Release::r5)), (Keys{"cod-1", "ident-1"}));
    EXPECT_EQ(keys_of(report_on(text)), Keys{});
}

TEST(ReportTest, EverySeverityAndIssueTypeIsAWordOfFhir) {
    EXPECT_EQ(word_for(Severity::error), "error");
    EXPECT_EQ(word_for(Severity::warning), "warning");
    // https://hl7.org/fhir/R4/valueset-issue-type.html
    const std::vector<std::string_view> words{"structure", "required", "value", "invariant", "code-invalid"};
    const Report report = report_on(
        R"({"resourceType":"Observation","status":"done","valueInteger":1.5,"x":1,"dataAbsentReason":{"text":"a"}})");
    EXPECT_EQ(keys_of(report), (Keys{"min", "obs-6", "dom-6", "binding", "value", "unknown-element"}));
    for (const Issue& issue : report.issues)
        EXPECT_TRUE(std::ranges::find(words, issue.rule.issue_type) != words.end()) << issue.rule.issue_type;
}

// Wherever something can be wrong stands a text that may not come back: values, codes, references, types,
// names of members that cannot be names of elements.
constexpr std::string_view secret_everywhere = R"({
    "resourceType": "Observation",
    "id": "SECRET person",
    "meta": {"versionId": "SECRET v", "lastUpdated": "SECRET", "profile": ["SECRET p"], "SECRET name": 1},
    "implicitRules": "SECRET rules", "language": " SECRET",
    "text": {"status": "SECRET", "div": "<div SECRET='a'>SECRET</div>"},
    "contained": [{"resourceType": "SECRET"}, {"resourceType": "Patient", "id": "SECRET p", "gender": "SECRET"}, "SECRET"],
    "extension": [{"url": "SECRET url"}, {"valueDecimal": "SECRET"}, {"url": "SECRET", "valueCode": "SECRET  x"}],
    "identifier": {"system": "SECRET"},
    "status": "SECRET", "_status": "SECRET",
    "category": ["SECRET", null, [], {"SECRET": "SECRET", "coding": [{"system": "SECRET s", "code": "SECRET "}]}],
    "code": [{"text": "SECRET"}, {"text": "SECRET"}],
    "subject": {"reference": "#SECRET"}, "encounter": {"reference": "Patient/SECRET"}, "focus": ["SECRET"],
    "effectiveDateTime": "SECRET", "issued": "SECRET",
    "performer": [{"reference": "Device/SECRET"}, {"type": "Device", "display": "SECRET"}],
    "valueQuantity": {"value": "SECRET", "comparator": "SECRET", "code": "SECRET"}, "valueString": "SECRET",
    "valueSECRET": "SECRET", "dataAbsentReason": "SECRET",
    "note": [{"text": "SECRET", "time": "SECRET"}], "SECRET_1": {"SECRET 2": "SECRET"}, "_SECRET 3": 1,
    "component": [{"code": {"text": "SECRET"}, "valueInteger": "SECRET"}, {"valuePeriod": {"start": "SECRET"}}],
    "referenceRange": [{"low": "SECRET", "SECRET/~": 1}]
})";

TEST(ReportTest, ContentOfTheResourceIsNeverTold) {
    for (const Release release : spec::releases) {
        const Report report = report_on(secret_everywhere, release);
        EXPECT_GE(report.issues.size(), 40u);
        for (const Issue& issue : report.issues) {
            const bool named_like_an_element =
                issue.rule == rule::unknown_element &&
                (issue.pointer == "/valueSECRET" || issue.pointer == "/category/3/SECRET");
            if (named_like_an_element) continue;
            for (const std::string& told : {issue.text, issue.expression, issue.pointer})
                EXPECT_EQ(told.find("SECRET"), std::string::npos) << issue.rule.key << ": " << told;
        }
    }
}

TEST(ReportTest, TypeThatIsNoneIsNotTold) {
    const Report report = report_on(R"({"resourceType":"SECRET","status":"final"})");
    ASSERT_EQ(keys_of(report), Keys{"resource-type"});
    EXPECT_EQ(report.issues[0].expression, "Resource");
    EXPECT_EQ(report.issues[0].text.find("SECRET"), std::string::npos);
}

// A misspelt element has to be found, so its name is told: letters and digits, 64 at most.
TEST(ReportTest, UnknownMemberIsNamedWhenItLooksLikeAnElement) {
    const auto pointer = [](const std::string& name) {
        const Report report = report_on(observation('"' + name + "\":1"));
        EXPECT_EQ(keys_of(report), Keys{"unknown-element"}) << name;
        return report.issues.empty() ? "none" : report.issues[0].pointer;
    };
    EXPECT_EQ(pointer("valueQuanity"), "/valueQuanity");
    EXPECT_EQ(pointer("_valueQuanity"), "/_valueQuanity");
    EXPECT_EQ(pointer(std::string(64, 'a')), "/" + std::string(64, 'a'));
    for (const std::string& name : {std::string(65, 'a'), std::string("a b"), std::string("a-b"),
                                    std::string("1a"), std::string("_"), std::string(""), std::string("__a"),
                                    std::string("a/b"), std::string("\xC3\xA4"), std::string(100'000, 'a')})
        EXPECT_EQ(pointer(name), "") << name.substr(0, 70);
}

TEST(ReportTest, UnknownMemberThatIsNotNamedIsFoundByItsOffset) {
    const std::string text = observation(R"("told by phone": 12345)");
    const Report report = report_on(text);
    ASSERT_EQ(keys_of(report), Keys{"unknown-element"});
    EXPECT_EQ(report.issues[0].expression, "Observation");
    EXPECT_EQ(text.substr(report.issues[0].offset, 5), "12345");
}

}  // namespace
}  // namespace nightferry::fhir::check
