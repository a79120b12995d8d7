// The local API about the logbook as a whole: copies, everything in open form.
#include "tests/daemon/intake/api_caller.hpp"

#include <regex>

namespace nightferry::intake {

namespace {

using testing::HasSubstr;
using testing::StartsWith;

constexpr char weight[] =
    R"({"type":"weight","id":"w1","person":"juniper","by":"marlow","time":"2026-10-12T08:00","kg":18.4})";
constexpr char dose[] =
    R"({"type":"dose_given","id":"d1","person":"juniper","by":"tove","time":"2026-10-12T08:05",)"
    R"("medicine":"enoxaparin-100","amount":0.2,"unit":"mL","region":"thigh","side":"left"})";

class LogbookApiTest : public ApiTest {
 protected:
    HttpAnswer raw(const std::string& method, const std::string& target) {
        return api_.answer({method, target, {}, {}});
    }
    // Makes a copy; its number.
    std::string copy() {
        const std::string answer = post("/v1/logbook/copy");
        EXPECT_THAT(answer, StartsWith("200 {\"copy\":"));
        return answer.substr(12, answer.find(',') - 12);
    }
    static std::string part(const std::string& number) { return "/v1/logbook/copy?copy=" + number; }
};

TEST_F(LogbookApiTest, ACopyIsFetchedByItsNumberAndNotMixedWithAnother) {
    hand_in(weight);
    const std::string first = copy();
    EXPECT_EQ(raw("GET", part(first)).status, 200);
    EXPECT_THAT(post("/v1/logbook/copy"), StartsWith("409 {\"error\":\"another backup is being made"));
    EXPECT_EQ(raw("GET", part(first)).status, 200);
    // The first one was given up.
    hub_.clock.move(std::chrono::minutes{2});
    const std::string second = copy();
    EXPECT_NE(first, second);
    EXPECT_EQ(raw("GET", part(first)).status, 409);
    EXPECT_THAT(post("/v1/logbook/copy/end?copy=" + first), StartsWith("409"));
    EXPECT_EQ(raw("GET", part(second)).status, 200);
    EXPECT_EQ(post("/v1/logbook/copy/end?copy=" + second), "200 {}");
    EXPECT_EQ(raw("GET", part(second)).status, 409);
    EXPECT_EQ(post("/v1/logbook/copy/end?copy=" + copy()), "200 {}");
}

TEST_F(LogbookApiTest, ACopyThatNobodyFetchesIsDropped) {
    const std::string number = copy();
    hub_.clock.move(std::chrono::minutes{4});
    keeping_.drop_idle_copy();
    EXPECT_EQ(raw("GET", part(number)).status, 200);
    hub_.clock.move(std::chrono::minutes{4});
    keeping_.drop_idle_copy();
    EXPECT_EQ(raw("GET", part(number)).status, 200);
    hub_.clock.move(std::chrono::minutes{6});
    keeping_.drop_idle_copy();
    EXPECT_EQ(raw("GET", part(number)).status, 409);
}

TEST_F(LogbookApiTest, WhatTakesLongIsCalledOffAndTheLogbookGoesOn) {
    std::string lines;
    for (int i = 0; i < 4000; ++i)
        lines += std::regex_replace(std::string(weight), std::regex("w1"), "w" + std::to_string(i)) + "\n";
    ASSERT_THAT(hand_in(lines), StartsWith("200 "));
    keeping_.go_on_while([] { return false; });
    for (const auto& [method, target] :
         {std::pair{"GET", "/v1/logbook/check"}, {"POST", "/v1/logbook/copy"}}) {
        EXPECT_THAT(ask(method, target), StartsWith("503 {\"error\":\"it was called off")) << target;
        EXPECT_FALSE(api_.failed()) << "nothing is wrong with the logbook";
    }
    keeping_.go_on_while([] { return true; });
    EXPECT_THAT(get("/v1/logbook/check"), HasSubstr("\"faults\":[]"));
    copy();
}

TEST_F(LogbookApiTest, AClockThatIsPutBackHoldsNoBackupUp) {
    copy();
    hub_.clock.move(-std::chrono::hours{24 * 365});
    copy();
}

TEST_F(LogbookApiTest, NobodyIsExportedOnlyWhereThePersonIsUnknown) {
    hand_in(weight);
    for (const char* what : {"entries", "fhir"}) {
        const std::string target = std::string("/v1/logbook/") + what + "?person=";
        EXPECT_THAT(get(target + "junipr"), HasSubstr("404 {\"error\":\"no [[person]] has the key 'junipr'"))
            << what;
        EXPECT_EQ(raw("GET", target + "rowan").status, 200) << what;
        EXPECT_EQ(raw("GET", target + "juniper").status, 200) << what;
        EXPECT_EQ(raw("GET", target).status, 200) << what;
    }
}

TEST_F(LogbookApiTest, WhatCannotBeMadeIsNamedAndLeavesNoPartBehind) {
    hand_in(std::string(weight) + "\n" + dose);
    EXPECT_THAT(get("/v1/logbook/fhir"), HasSubstr("\"left_out\":[]"));
    entry::Household fewer = hub_.household;
    fewer.medicines.clear();
    LogbookApi keeping(fewer, "urn:example:home", *hub_.db, logbook::file_in(hub_.folder.path()), hub_.clock);
    const HttpAnswer answer = keeping.answer({"GET", "/v1/logbook/fhir", {}, {}}).value();
    EXPECT_THAT(answer.body, HasSubstr("\"left_out\":[\"" + id("d1") + "\"]"));
    EXPECT_THAT(answer.body, HasSubstr("\"Observation\""));
    EXPECT_THAT(answer.body, testing::Not(HasSubstr("\"resource\":{}")));
    EXPECT_THAT(answer.body, testing::Not(HasSubstr("urn:uuid:" + id("d1"))));
}

TEST_F(LogbookApiTest, TheAuditTrailIsAskedForOneEntry) {
    hand_in(std::string(weight) + "\n" + dose);
    const std::string rows = get("/v1/audit?entry=" + id("d1"));
    EXPECT_THAT(rows, HasSubstr(id("d1")));
    EXPECT_THAT(rows, testing::Not(HasSubstr(id("w1"))));
    EXPECT_EQ(get("/v1/audit?after=1000&entry=" + id("d1")), R"(200 {"rows":[]})");
}

}  // namespace

}  // namespace nightferry::intake
