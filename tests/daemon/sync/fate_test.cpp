// What every answer means for what was sent.
#include "daemon/sync/fate.hpp"

#include <array>

#include "tests/daemon/sync/clinic.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::HasSubstr;
using Reached = NoAnswer::Reached;

constexpr std::array purposes{Purpose::create, Purpose::update, Purpose::search, Purpose::read};

struct Row {
    int status;
    Fate create;
    Fate update;
    Fate search;
    Fate read;
};

// Meanings of the numbers: RFC 9110 section 15; 429: RFC 6585; 425: RFC 8470. What servers mean by 404, 409,
// 410, 412 and 422: https://hl7.org/fhir/R4/http.html#create, #update and #transaction.
constexpr std::array table{
    Row{200, Fate::done, Fate::done, Fate::done, Fate::done},  // OK
    Row{201, Fate::done, Fate::done, Fate::done, Fate::done},  // Created
    Row{202, Fate::look, Fate::look, Fate::look, Fate::look},  // Accepted, not yet done
    Row{204, Fate::done, Fate::done, Fate::done, Fate::done},  // No content
    Row{300, Fate::stop, Fate::stop, Fate::stop, Fate::stop},  // The class of redirections is never followed.
    Row{301, Fate::stop, Fate::stop, Fate::stop, Fate::stop},
    Row{302, Fate::stop, Fate::stop, Fate::stop, Fate::stop},
    Row{304, Fate::stop, Fate::stop, Fate::stop, Fate::stop},
    Row{307, Fate::stop, Fate::stop, Fate::stop, Fate::stop},
    Row{308, Fate::stop, Fate::stop, Fate::stop, Fate::stop},
    Row{400, Fate::refuse, Fate::refuse, Fate::refuse, Fate::refuse},  // Bad request
    Row{401, Fate::stop, Fate::stop, Fate::stop, Fate::stop},          // Unauthorized
    Row{407, Fate::stop, Fate::stop, Fate::stop, Fate::stop},          // Proxy authentication required
    Row{421, Fate::stop, Fate::stop, Fate::stop, Fate::stop},          // Misdirected request
    Row{426, Fate::stop, Fate::stop, Fate::stop, Fate::stop},          // Upgrade required
    Row{451, Fate::stop, Fate::stop, Fate::stop, Fate::stop},      // Unavailable for legal reasons (RFC 7725)
    Row{403, Fate::stop, Fate::stop, Fate::stop, Fate::stop},      // Forbidden
    Row{404, Fate::stop, Fate::look, Fate::stop, Fate::look},      // Not found
    Row{405, Fate::stop, Fate::look, Fate::stop, Fate::refuse},    // Method not allowed
    Row{406, Fate::stop, Fate::stop, Fate::stop, Fate::stop},      // Not acceptable: the format
    Row{408, Fate::retry, Fate::retry, Fate::retry, Fate::retry},  // Request timeout
    Row{409, Fate::retry, Fate::look, Fate::retry, Fate::retry},   // Conflict
    Row{410, Fate::refuse, Fate::look, Fate::refuse, Fate::look},  // Gone
    Row{412, Fate::look, Fate::look, Fate::refuse, Fate::refuse},  // Precondition failed
    Row{413, Fate::refuse, Fate::refuse, Fate::refuse, Fate::refuse},  // Content too large
    Row{415, Fate::stop, Fate::stop, Fate::stop, Fate::stop},          // Unsupported media type
    Row{418, Fate::refuse, Fate::refuse, Fate::refuse,
        Fate::refuse},  // Any other of the class is about what was sent.
    Row{422, Fate::refuse, Fate::refuse, Fate::refuse, Fate::refuse},  // Unprocessable content
    Row{425, Fate::retry, Fate::retry, Fate::retry, Fate::retry},      // Too early
    Row{429, Fate::retry, Fate::retry, Fate::retry, Fate::retry},      // Too many requests
    Row{499, Fate::refuse, Fate::refuse, Fate::refuse, Fate::refuse},
    Row{500, Fate::retry, Fate::retry, Fate::retry, Fate::retry},  // Internal server error
    Row{502, Fate::retry, Fate::retry, Fate::retry, Fate::retry},  // Bad gateway
    Row{503, Fate::retry, Fate::retry, Fate::retry, Fate::retry},  // Service unavailable
    Row{504, Fate::retry, Fate::retry, Fate::retry, Fate::retry},  // Gateway timeout
    Row{599, Fate::retry, Fate::retry, Fate::retry, Fate::retry},
};

TEST(FateTest, EveryStatusOfTheTableMeansWhatItSays) {
    for (const Row& row : table) {
        EXPECT_EQ(fate_of_status(row.status, Purpose::create), row.create) << row.status;
        EXPECT_EQ(fate_of_status(row.status, Purpose::update), row.update) << row.status;
        EXPECT_EQ(fate_of_status(row.status, Purpose::search), row.search) << row.status;
        EXPECT_EQ(fate_of_status(row.status, Purpose::read), row.read) << row.status;
    }
}

TEST(FateTest, NothingOutsideTheClassOfSuccessIsEverDone) {
    for (int status = 0; status <= 999; ++status) {
        for (const Purpose purpose : purposes) {
            if (status >= 200 && status < 300) continue;
            EXPECT_NE(fate_of_status(status, purpose), Fate::done) << status;
        }
    }
}

TEST(FateTest, EveryRedirectionStopsAndEveryServerFailureIsRetried) {
    for (const Purpose purpose : purposes) {
        for (int status = 300; status <= 399; ++status)
            EXPECT_EQ(fate_of_status(status, purpose), Fate::stop) << status;
        for (int status = 500; status <= 599; ++status) {
            // 501 not implemented and 505 version not supported (RFC 9110) will not change by waiting.
            const Fate expected = status == 501 || status == 505 ? Fate::stop : Fate::retry;
            EXPECT_EQ(fate_of_status(status, purpose), expected) << status;
        }
    }
}

TEST(FateTest, OnlyAnUntrustedClinicStopsWithoutAnAnswer) {
    for (const Purpose purpose : purposes) {
        EXPECT_EQ(fate_of(NoAnswer{Reached::no, ""}, purpose), Fate::retry);
        EXPECT_EQ(fate_of(NoAnswer{Reached::perhaps, ""}, purpose), Fate::retry);
        EXPECT_EQ(fate_of(NoAnswer{Reached::untrusted, ""}, purpose), Fate::stop);
        EXPECT_EQ(fate_of(HttpAnswer{503, {}, ""}, purpose), Fate::retry);
    }
}

TEST(FateTest, ClinicMayHaveActedUnlessItSaysOtherwise) {
    EXPECT_TRUE(may_have_acted(NoAnswer{Reached::perhaps, ""}));
    EXPECT_FALSE(may_have_acted(NoAnswer{Reached::no, ""}));
    EXPECT_FALSE(may_have_acted(NoAnswer{Reached::untrusted, ""}));
    // Who gives up waiting (408) or finds a conflict (409) may have begun.
    for (const int status : {200, 202, 301, 408, 409, 500, 502, 503, 504})
        EXPECT_TRUE(may_have_acted(HttpAnswer{status, {}, ""})) << status;
    for (const int status : {400, 401, 403, 404, 405, 410, 412, 413, 422, 425, 429})
        EXPECT_FALSE(may_have_acted(HttpAnswer{status, {}, ""})) << status;
}

TEST(FateTest, OnlyThreeStatusesMeanThatThisKindOfRequestIsNotOffered) {
    for (int status = 100; status <= 599; ++status)
        EXPECT_EQ(means_not_offered(status), status == 404 || status == 405 || status == 501) << status;
}

std::optional<std::chrono::microseconds> asked(const std::string& value,
                                               std::string_view now = "1994-11-06T08:49:00Z") {
    return retry_after({503, {{"retry-after", value}}, ""}, instant(now));
}

TEST(RetryAfterTest, SecondsAreTakenUpToAnHour) {
    EXPECT_EQ(asked("120"), 120s);  // RFC 9110 section 10.2.3 has this example.
    EXPECT_EQ(asked("0"), 0s);
    EXPECT_EQ(asked("3600"), 1h);
    EXPECT_EQ(asked("3601"), 1h);
    EXPECT_EQ(asked("9223372036854775807"), 1h);
}

TEST(RetryAfterTest, HttpDateIsTakenUpToAnHour) {
    // The date is the example of RFC 9110 section 5.6.7.
    EXPECT_EQ(asked("Sun, 06 Nov 1994 08:49:37 GMT"), 37s);
    EXPECT_EQ(asked("Sun, 06 Nov 1994 08:49:37 GMT", "1994-11-06T08:49:36.250Z"), 750ms);
    EXPECT_EQ(asked("Sun, 06 Nov 1994 08:49:37 GMT", "1994-11-06T06:00:00Z"), 1h);
    EXPECT_EQ(asked("Sun, 06 Nov 1994 08:49:37 GMT", "1994-11-06T08:49:38Z"), 0s) << "it is over";
    // The two obsolete forms of the same example, which a recipient has to read, too.
    EXPECT_EQ(asked("Sunday, 06-Nov-94 08:49:37 GMT"), 37s);
    EXPECT_EQ(asked("Sun Nov  6 08:49:37 1994"), 37s);
    EXPECT_EQ(asked("Monday, 02-Nov-26 08:00:05 GMT", "2026-11-02T08:00:00Z"), 5s);
    EXPECT_EQ(asked("Fri, 31 Dec 9999 23:59:59 GMT"), 1h);
    EXPECT_EQ(asked("Thu, 01 Jan 1970 00:00:00 GMT"), 0s);
}

TEST(RetryAfterTest, EveryMonthIsKnown) {
    int number = 0;
    for (const char* month :
         {"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}) {
        ++number;
        const std::string two_digits = (number < 10 ? "0" : "") + std::to_string(number);
        const std::string now = "2026-" + two_digits + "-15T08:00:00Z";
        EXPECT_EQ(asked("Mon, 15 " + std::string(month) + " 2026 08:00:05 GMT", now), 5s) << month;
    }
}

TEST(RetryAfterTest, WhatCannotBeReadAsksForNothing) {
    EXPECT_FALSE(retry_after({503, {}, ""}, test_now()).has_value());
    for (const char* text :
         {"", "soon", "-5", "+5", "1.5", "12 s", "0x10", "Sun, 06 Nov 1994 08:49:37 CET",
          "Sun, 31 Feb 1994 08:49:37 GMT", "Sun, 06 Nov 1994 25:49:37 GMT", "Sun, 06 nov 1994 08:49:37 GMT",
          "Sunday, 06-Nov-1 08:49:37 GMT", "Sun Nov  6 08:49:37", "Sun Nov  x 08:49:37 1994",
          "Sun Nov 31 08:49:37 1994", "1994-11-06T08:49:37Z", "xxxxxxxxxxxxxxxxxxxxxxxxx GMT"}) {
        EXPECT_FALSE(asked(text).has_value()) << text;
    }
}

TEST(DateOfTest, AnswerSaysWhenItWasMade) {
    // The example of RFC 9110 section 5.6.7; names of fields compare without case (section 5.1).
    for (const char* name : {"Date", "date"}) {
        EXPECT_EQ(date_of({200, {{name, "Sun, 06 Nov 1994 08:49:37 GMT"}}, ""}, test_now()),
                  instant("1994-11-06T08:49:37Z"))
            << name;
    }
    EXPECT_EQ(date_of({503, {{"Date", "Tue, 29 Feb 2028 23:59:59 GMT"}}, ""}, test_now()),
              instant("2028-02-29T23:59:59Z"));
}

TEST(DateOfTest, AnswerWithoutADateThatCanBeReadSaysNothing) {
    EXPECT_FALSE(date_of({200, {}, ""}, test_now()).has_value());
    for (const char* text :
         {"", "now", "120", "Sun, 30 Feb 2026 08:49:37 GMT", "Sun, 06 Nov 1994 08:49:37 CET",
          "1994-11-06T08:49:37Z", "Sun, 257 Nov 1994 08:49:37 GMT", "Sun, 006 Nov 1994 08:49:37 GMT"}) {
        EXPECT_FALSE(date_of({200, {{"Date", text}}, ""}, test_now()).has_value()) << text;
    }
}

// A year of two digits that appears to be more than 50 years ahead is the latest past one that ends so: RFC
// 9110 section 5.6.7. The days of the week are not read.
TEST(DateOfTest, YearOfTwoDigitsIsAtMostFiftyYearsAhead) {
    const auto year_at = [](const std::string& digits, const std::string& now) {
        const auto date =
            date_of({200, {{"Date", "Sunday, 06-Nov-" + digits + " 08:49:37 GMT"}}, ""}, instant(now));
        return date ? to_text(*date).substr(0, 4) : "none";
    };
    EXPECT_EQ(year_at("94", "2026-11-25T00:00:00Z"), "1994");
    EXPECT_EQ(year_at("76", "2026-11-25T00:00:00Z"), "2076");
    EXPECT_EQ(year_at("77", "2026-11-25T00:00:00Z"), "1977");
    EXPECT_EQ(year_at("26", "2026-11-25T00:00:00Z"), "2026");
    EXPECT_EQ(year_at("00", "2099-12-31T23:00:00Z"), "2100");
    EXPECT_EQ(year_at("94", "1994-11-06T08:00:00Z"), "1994");
}

TEST(WordsForTest, OperationOutcomeIsQuotedInOneLine) {
    EXPECT_EQ(words_for(outcome(422, "no such unit")),
              "HTTP 422 refused by the clinic's rules, the clinic says: no such unit");
    EXPECT_EQ(words_for(outcome(429, R"(slow\ndown)")),
              "HTTP 429 too many requests, the clinic says: slow down");
}

TEST(WordsForTest, PageOfAGatewayIsQuotedShortAndInOneLine) {
    const std::string page =
        "<html>\r\n<body>\t<p>Bad\nGateway</p>" + std::string(5000, 'x') + "</body></html>";
    const std::string words = words_for(HttpAnswer{502, {{"Content-Type", "text/html"}}, page});
    EXPECT_THAT(words, testing::StartsWith("HTTP 502 bad gateway, the clinic says: Bad Gateway xxx"));
    EXPECT_LT(words.size(), 600u);
    EXPECT_EQ(words.find_first_of("\r\n\t"), std::string::npos);
}

TEST(WordsForTest, EmptyAnswerStillSaysWhatHappened) {
    EXPECT_EQ(words_for(HttpAnswer{503, {}, ""}), "HTTP 503 unavailable");
    EXPECT_EQ(words_for(HttpAnswer{599, {}, " \n "}), "HTTP 599 unexpected answer");
}

TEST(WordsForTest, RedirectionSaysWhatToDo) {
    const std::string words =
        words_for(HttpAnswer{301, {{"Location", "https://elsewhere.example/"}}, "moved"});
    EXPECT_THAT(words,
                testing::AllOf(HasSubstr("HTTP 301"), HasSubstr("correct the address in the settings")));
    EXPECT_THAT(words, testing::Not(HasSubstr("elsewhere.example")));
}

TEST(WordsForTest, NoAnswerIsToldInTheWordsOfTheLine) {
    EXPECT_EQ(words_for(NoAnswer{Reached::no, "no such host"}), "no such host");
}

}  // namespace

}  // namespace nightferry::sync
