// Whatever JSON comes in, the validator ends soon, and its issues lead to what they are about.
#include <gtest/gtest.h>

#include <chrono>

#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/fhir/check/resource_cases.hpp"

namespace nightferry::fhir::check {
namespace {

using json::Kind;
using json::Value;

// The value as text, with one of its parts replaced.
void write_replaced(const Value& value, const Value* replaced, std::string_view by, std::string& into) {
    if (&value == replaced) {
        into += by;
        return;
    }
    if (!value.is(Kind::object) && !value.is(Kind::array)) {
        into += json::write(value);
        return;
    }
    into += value.is(Kind::object) ? '{' : '[';
    for (const Value& child : value) {
        if (&child != &value.front()) into += ',';
        if (value.is(Kind::object)) into += '"' + std::string(child.name()) + "\":";
        write_replaced(child, replaced, by, into);
    }
    into += value.is(Kind::object) ? '}' : ']';
}

void collect(const Value& value, std::vector<const Value*>& into) {
    into.push_back(&value);
    for (const Value& child : value)
        collect(child, into);
}

// Follows a JSON pointer without escapes; nullptr when it leads nowhere.
const Value* follow(const Value& root, std::string_view pointer) {
    const Value* at = &root;
    while (!pointer.empty() && at != nullptr) {
        const auto end = std::min(pointer.find('/', 1), pointer.size());
        const std::string token(pointer.substr(1, end - 1));
        pointer.remove_prefix(end);
        if (at->is(Kind::array)) {
            auto item = at->begin();
            for (int index = std::stoi(token); index > 0 && item != at->end(); --index)
                ++item;
            at = item == at->end() ? nullptr : &*item;
        } else {
            at = at->find(token);
        }
    }
    return at;
}

void expect_issues_lead_to_their_values(const std::string& text) {
    const auto document = json::read(text);
    ASSERT_TRUE(document.has_value()) << text;
    for (const spec::Release release : spec::releases) {
        for (const Issue& issue : validate(document->root(), release).issues) {
            const Value* found = follow(document->root(), issue.pointer);
            ASSERT_NE(found, nullptr) << issue.pointer << " in " << text;
            EXPECT_EQ(found->offset(), issue.offset)
                << issue.rule.key << ' ' << issue.pointer << " in " << text;
        }
    }
}

// Invariants look at members that were already found to be wrong: any kind may stand anywhere.
TEST(HostileInputTest, AnyKindOfValueIsBorneAnywhere) {
    std::size_t tried = 0;
    for (const char* file : {"broken_resources.txt", "valid_resources.txt"}) {
        for (const ResourceCase& one : resource_cases(file)) {
            // The pointer does not lead to members that are not named.
            if (one.title == "member whose name could be anything" || one.title == "member without a name" ||
                one.title == "two underscores before an element")
                continue;
            const auto document = json::read(one.resource);
            ASSERT_TRUE(document.has_value()) << one.title;
            std::vector<const Value*> parts;
            collect(document->root(), parts);
            for (const Value* part : parts) {
                for (const char* by : {"null", "true", "-5e10", "\"#\"", "[]", "{}", "[null]", "[[{}]]",
                                       "{\"coding\":[{\"coding\":5}]}", "{\"id\":\"a\",\"extension\":{}}"}) {
                    std::string text;
                    write_replaced(document->root(), part, by, text);
                    expect_issues_lead_to_their_values(text);
                    ++tried;
                }
            }
        }
    }
    EXPECT_GT(tried, 20'000u);
}

// Validates the text, as large as the reader takes, and expects to be done while somebody waits.
Report validated_soon(const std::string& text, std::size_t issues_max = 100,
                      spec::Release release = spec::Release::r4) {
    const auto document = json::read(text);
    EXPECT_TRUE(document.has_value());
    Options options;
    options.issues_max = issues_max;
    const auto started = std::chrono::steady_clock::now();
    Report report = validate(document->root(), release, options);
    EXPECT_LT(std::chrono::steady_clock::now() - started, std::chrono::seconds(10));
    return report;
}

std::string repeated(std::size_t count, const std::function<std::string(std::size_t)>& item) {
    std::string list;
    for (std::size_t i = 0; i < count; ++i)
        list += (i == 0 ? "" : ",") + item(i);
    return list;
}

// obs-7 compares every coding of the components with every one of the observation.
TEST(HostileInputTest, ManyCodingsThatDifferInTheirDisplayAreComparedQuickly) {
    const auto codings = [](const std::string& word) {
        return repeated(100'000,
                        [&](std::size_t i) { return R"({"display":")" + word + std::to_string(i) + "\"}"; });
    };
    const Report report =
        validated_soon(R"({"resourceType":"Observation","status":"final","code":{"coding":[)" + codings("a") +
                       R"(]},"valueString":"v","component":[{"code":{"coding":[)" + codings("b") + "]}}]}");
    EXPECT_TRUE(report.valid());
}

TEST(HostileInputTest, ManyContainedResourcesAreTiedQuickly) {
    const auto list = repeated(50'000, [](std::size_t i) {
        return R"({"resourceType":"Patient","id":"p)" + std::to_string(i) + "\"}";
    });
    const auto references =
        repeated(50'000, [](std::size_t i) { return R"({"reference":"#p)" + std::to_string(i) + "\"}"; });
    const Report report =
        validated_soon(R"({"resourceType":"Observation","status":"final","code":{"text":"a"},)"
                       R"("performer":[)" +
                       references + R"(],"contained":[)" + list + "]}");
    EXPECT_TRUE(report.valid());
}

TEST(HostileInputTest, ManyEntriesThatReferToEachOtherAreFollowedQuickly) {
    const auto entries = repeated(30'000, [](std::size_t i) {
        return R"({"fullUrl":"urn:uuid:)" + std::to_string(i) +
               R"(","resource":{"resourceType":"Observation","status":"final","code":{"text":"a"},)"
               R"("hasMember":[{"reference":"urn:uuid:)" +
               std::to_string(29'999 - i) + "\"}]}}";
    });
    const Report report =
        validated_soon(R"({"resourceType":"Bundle","type":"collection","entry":[)" + entries + "]}");
    EXPECT_TRUE(report.valid());
}

// obs-9 (R5) asks every observation for the members of its group.
TEST(HostileInputTest, ManyObservationsThatShareALargeGroupAreJudgedQuickly) {
    const auto members = repeated(20'000, [](std::size_t i) {
        return R"({"entity":{"reference":"urn:uuid:)" + std::to_string(i) + "\"}}";
    });
    const auto entries = repeated(20'000, [](std::size_t i) {
        return R"({"fullUrl":"urn:uuid:o)" + std::to_string(i) +
               R"(","resource":{"resourceType":"Observation","status":"final","code":{"text":"a"},)"
               R"("specimen":{"reference":"urn:uuid:g"}}})";
    });
    const Report report = validated_soon(
        R"({"resourceType":"Bundle","type":"collection","entry":[{"fullUrl":"urn:uuid:g","resource":{)"
        R"("resourceType":"Group","type":"specimen","membership":"enumerated","member":[)" +
            members + "]}}," + entries + "]}",
        100, spec::Release::r5);
    EXPECT_TRUE(report.valid());
}

TEST(HostileInputTest, ManyNullsInParallelListsAreWalkedQuickly) {
    const auto nulls = repeated(100'000, [](std::size_t) { return "null"; });
    const auto beside =
        repeated(100'000, [](std::size_t) { return R"({"extension":[{"url":"a","valueCode":"b"}]})"; });
    const Report report = validated_soon(R"({"resourceType":"Patient","name":[{"given":[)" + nulls +
                                         R"(],"_given":[)" + beside + "]}]}");
    EXPECT_TRUE(report.valid());
}

TEST(HostileInputTest, ManyUnknownMembersAreToldQuickly) {
    const auto members =
        repeated(300'000, [](std::size_t i) { return "\"value" + std::to_string(i) + "\":1"; });
    const Report report = validated_soon("{\"resourceType\":\"Observation\"," + members + "}", 1'000'000);
    EXPECT_EQ(report.issues.size(), 300'003u);
}

TEST(HostileInputTest, DeepestNestingIsWalked) {
    std::string open = R"({"resourceType":"Patient","extension":[)";
    std::string close = "]}";
    for (int i = 0; i < 30; ++i) {
        open += R"({"url":"a","extension":[)";
        close = "]}" + close;
    }
    const Report report = validated_soon(open + R"({"url":"b"})" + close);
    ASSERT_EQ(report.issues.size(), 2u);
    EXPECT_EQ(report.issues[1].rule.key, "ext-1");
}

}  // namespace
}  // namespace nightferry::fhir::check
