// Whatever bytes a server sends, reading them ends, throws nothing and gives words that a terminal can show.
// Published answers and pages are damaged at random; the seed is fixed, so a failure repeats.
#include <gtest/gtest.h>

#include <random>

#include "fhir/exchange/bundle_answer.hpp"
#include "fhir/exchange/etag.hpp"
#include "fhir/exchange/issue_class.hpp"
#include "fhir/exchange/media_type.hpp"
#include "fhir/exchange/paging.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/exchange/search.hpp"
#include "fhir/resource/capability_statement.hpp"
#include "fhir/resource/medication_request.hpp"
#include "fhir/resource/person.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::fhir::exchange {
namespace {

constexpr int rounds = 400;  // Per sample.

class Damage {
 public:
    std::string done_to(std::string text) {
        for (int i = 0; i < 1 + below(4) && !text.empty(); ++i) {
            const auto at = static_cast<std::size_t>(below(static_cast<int>(text.size())));
            const auto length = static_cast<std::size_t>(1 + below(40));
            switch (below(5)) {
                case 0:
                    text[at] = static_cast<char>(below(256));
                    break;
                case 1:
                    text.resize(at);
                    break;
                case 2:
                    text.erase(at, length);
                    break;
                case 3:
                    text.insert(at, text.substr(text.size() - at, length));
                    break;
                case 4:
                    text.insert(at,
                                pieces_[static_cast<std::size_t>(below(static_cast<int>(pieces_.size())))]);
                    break;
            }
        }
        return text;
    }

 private:
    int below(int end) { return std::uniform_int_distribution<int>(0, end - 1)(chance_); }

    std::mt19937 chance_{20261125};
    std::vector<std::string> pieces_{"[",    "{",  "\"",      "null",   "7",       "<h1>", "&#x0;", "\\u0000",
                                     "\xFF", "//", "\r\nX: ", "%2e%2e", "urn:x|,", "W/\"", "<!--",  ";q=\""};
};

// No control characters, and every lead byte is followed by as many continuations as it announces (RFC 3629).
bool is_one_valid_line(std::string_view words) {
    for (std::size_t i = 0; i < words.size();) {
        const auto byte = static_cast<unsigned char>(words[i]);
        const std::size_t length = byte < 0x80    ? 1
                                   : byte >= 0xF0 ? 4
                                   : byte >= 0xE0 ? 3
                                   : byte >= 0xC2 ? 2
                                                  : 0;
        if (length == 0 || byte < 0x20 || byte == 0x7F || i + length > words.size()) return false;
        for (std::size_t k = 1; k < length; ++k) {
            if ((static_cast<unsigned char>(words[i + k]) & 0xC0) != 0x80) return false;
        }
        i += length;
    }
    return true;
}

bool can_be_sent_back(const Location& location) {
    return is_type_name(location.type) && is_id(location.id) &&
           (location.version.empty() || fits_in_etag(location.version));
}

void read_as_everything(const std::string& text) {
    const std::string words = server_words(text, 200);
    EXPECT_LE(words.size(), 203U);
    EXPECT_TRUE(is_one_valid_line(words)) << words;
    if (const auto answer = read_bundle_answer(text)) {
        for (const EntryAnswer& entry : answer->entries) {
            EXPECT_TRUE(!entry.location || can_be_sent_back(*entry.location));
            EXPECT_TRUE(is_one_valid_line(entry.words)) << entry.words;
        }
        EXPECT_TRUE(find_mismatch(answer->kind, std::vector<Asked>(answer->entries.size() + 1), *answer));
    }
    if (const auto answer = read_search_answer(text)) {
        for (const Found& found : answer->matches)
            EXPECT_TRUE(can_be_sent_back(found.location));
        if (const auto target = target_within("https://example.com/base", "/Patient", answer->next)) {
            EXPECT_EQ(target->find_first_of("\r\n "), std::string::npos);
        }
    }
    const auto document = json::read(text);
    if (!document) return;
    const json::Value& root = document->root();
    EXPECT_LE(asked_in(root).size(), text.size());
    EXPECT_LE(class_of(outcome_issues(root)), IssueClass::final);
    if (const auto statement = resource::read_capability_statement(root)) {
        EXPECT_LE(statement->types.size(), text.size());
    }
    if (const auto order = resource::read_medication_request(root)) {
        EXPECT_LE(order->dosage.size(), text.size());
    }
    if (const auto person = resource::read_person(root)) {
        EXPECT_LE(person->identifier.size(), text.size());
    }
}

TEST(HostileInputTest, DamagedAnswersAreReadOrRefusedButNeverBreakAnything) {
    Damage damage;
    for (const char* name : {"Bundle-bundle-transaction", "Bundle-bundle-response", "Bundle-bundle-example",
                             "Bundle-bundle-search-warning", "OperationOutcome-validationfail",
                             "OperationOutcome-break-the-glass", "CapabilityStatement-example",
                             "MedicationRequest-medrx0321", "RelatedPerson-benedicte"}) {
        const std::string text = test::published_text(spec::Release::r4, name);
        read_as_everything(text);
        for (int i = 0; i < rounds; ++i)
            read_as_everything(damage.done_to(text));
    }
}

TEST(HostileInputTest, DamagedPagesGiveOneLine) {
    Damage damage;
    for (const std::string& page :
         {std::string(
              "<html><head><title>502 &amp; more</title><script>var a='<h1>';</script></head><body><h1 "
              "class='x'>Bad Gateway</h1></body></html>"),
          std::string(
              "<?xml version='1.0'?><OperationOutcome xmlns='http://hl7.org/fhir'><issue><details><text "
              "value=\"caf&#xE9;\"/></details></issue></OperationOutcome>"),
          std::string("{\"error\":\"caf\xC3\xA9\",\"message\":\"\\ud83d\\ude00\"}")}) {
        for (int i = 0; i < rounds; ++i)
            read_as_everything(damage.done_to(page));
    }
}

TEST(HostileInputTest, DamagedHeadersGiveNothingThatCouldNotBeSentBack) {
    Damage damage;
    for (int i = 0; i < rounds * 10; ++i) {
        const std::string version = version_in_etag(damage.done_to("W/\"4be9\", \"4be9\""));
        EXPECT_TRUE(version.empty() || fits_in_etag(version)) << version;
        const auto location =
            parse_location(damage.done_to("https://h:1/fhir/4_0_1/Patient/p%2D1/_history/2?a=b"));
        EXPECT_TRUE(!location || can_be_sent_back(*location));
        const MediaType type =
            read_media_type(damage.done_to("application/fhir+json; charset=\"utf-8\"; fhirVersion=4.0"));
        EXPECT_LE(type.name.size(), 1'024U);
        const auto target =
            target_within("https://h/fhir", "/Patient?a=1", damage.done_to("https://h/fhir/Patient?p=2"));
        EXPECT_TRUE(!target || target->find("..") == std::string::npos ||
                    target->find('?') < target->find(".."));
        for (const QueryParameter& parameter :
             read_query(damage.done_to("identifier=urn:x%7C7%5C%2C8,b&_count=5")))
            EXPECT_FALSE(parameter.values().empty());
    }
}

}  // namespace
}  // namespace nightferry::fhir::exchange
