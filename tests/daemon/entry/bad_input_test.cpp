// Bad input and the words people get for it: the cases of bad_input.txt, and those too long for a file.
#include <set>

#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "tests/support/files.hpp"
#include "tests/support/household.hpp"

namespace nightferry::entry {

namespace {

struct Case {
    std::string name;
    std::string format;
    std::string input;
    std::vector<std::string> problems;
};

// "<0xE9>" stands for that byte.
std::string with_bytes(std::string line) {
    constexpr std::size_t length = 6;
    for (auto at = line.find("<0x"); at != std::string::npos; at = line.find("<0x", at + 1)) {
        EXPECT_TRUE(at + length <= line.size() && line[at + length - 1] == '>') << line;
        line.replace(at, length, 1, static_cast<char>(std::stoi(line.substr(at + 3, 2), nullptr, 16)));
    }
    return line;
}

std::vector<Case> cases_of(const std::string& text) {
    enum class Part { preface, format, input, problems } part = Part::preface;
    std::vector<Case> cases;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        if (part != Part::input && line.starts_with("=== ")) {
            cases.push_back({line.substr(4), {}, {}, {}});
            part = Part::format;
        } else if (part == Part::format && line.starts_with("format: ")) {
            cases.back().format = line.substr(8);
        } else if (part == Part::format && line == "--- input") {
            part = Part::input;
        } else if (part == Part::input && line == "--- problems") {
            part = Part::problems;
        } else if (part == Part::input) {
            cases.back().input += with_bytes(line) + '\n';
        } else if (part == Part::problems && !line.empty()) {
            cases.back().problems.push_back(line);
        } else {
            EXPECT_TRUE(part == Part::preface || line.empty()) << "no place for this line: " << line;
        }
    }
    return cases;
}

std::string words_of(const Problem& problem) {
    return problem.where.empty() ? problem.what : problem.where + ": " + problem.what;
}

// Everything that is told about an input, in order.
std::vector<std::string> problems_of(std::string_view input, Format format, const Limits& limits = {},
                                     const Household& household = test::household()) {
    const Reading reading = read(input, format, limits);
    if (reading.failure) {
        EXPECT_TRUE(reading.drafts.empty());
        return {words_of(*reading.failure)};
    }
    std::vector<std::string> told;
    for (const Draft& draft : reading.drafts) {
        const Checked checked = check(draft, household, test::test_now());
        EXPECT_EQ(checked.submission.has_value(), checked.problems.empty());
        for (const Problem& problem : checked.problems)
            told.push_back(words_of(problem));
    }
    return told;
}

using Told = std::vector<std::string>;

std::string weight_with(const std::string& member) {
    return R"({"type":"weight","person":"juniper","time":"2026-10-12T08:00","by":"marlow","kg":18.4,)" +
           member + "}";
}

TEST(BadInputTest, EveryCaseIsToldExactlyItsProblems) {
    const std::vector<Case> cases = cases_of(test::source_file("tests/daemon/entry/bad_input.txt"));
    std::set<std::string> names;
    for (const Case& one : cases) {
        SCOPED_TRACE(one.name);
        const auto format = format_of_file("input." + one.format);
        ASSERT_TRUE(format.has_value()) << one.format;
        EXPECT_FALSE(one.problems.empty());
        EXPECT_EQ(problems_of(one.input, *format), one.problems);
        EXPECT_TRUE(names.insert(one.name).second) << "two cases have this name";
    }
    EXPECT_GE(cases.size(), 60u);
}

TEST(BadInputTest, InputBeyondTheByteLimitIsRefused) {
    Limits limits;
    EXPECT_EQ(problems_of(std::string(limits.bytes + 1, ' '), Format::ndjson, limits),
              Told{"it is larger than 4 MiB; hand it in in smaller pieces"});
    EXPECT_EQ(problems_of(std::string(limits.bytes, ' '), Format::ndjson, limits),
              Told{"it is empty; there is nothing to record"});
}

TEST(BadInputTest, MoreEntriesThanTheLimitAreRefusedAsAWhole) {
    Limits limits;
    limits.entries = 2;
    EXPECT_EQ(problems_of("[{},{},{}]", Format::json, limits),
              Told{"it holds 3 entries; at most 2 are taken at once"});
    EXPECT_EQ(problems_of("{}\n\n{}\n{}\n", Format::ndjson, limits),
              Told{"line 4: at most 2 entries are taken at once; hand it in in smaller pieces"});
    EXPECT_EQ(problems_of("type,kg\nweight,1\nweight,2\nweight,3\n", Format::csv, limits),
              Told{"it holds 3 rows; at most 2 are taken at once"});
}

TEST(BadInputTest, NoteOfMoreThanTwoThousandBytesIsRefused) {
    const auto note = [](std::size_t length) {
        return weight_with(R"("note":")" + std::string(length, 'a') + "\"");
    };
    EXPECT_EQ(problems_of(note(2000), Format::json), Told{});
    EXPECT_EQ(problems_of(note(2001), Format::json),
              Told{"line 1, /note: this text has 2001 bytes; at most 2000 are taken"});
}

TEST(BadInputTest, HubWithoutMedicinesSaysThatItsSettingsNameNone) {
    Household household = test::household();
    household.medicines.clear();
    const std::string row =
        "type,person,time,by,medicine,why\ndose_not_given,juniper,2026-10-12T08:00,marlow,enoxaparin-100,"
        "forgot\n";
    EXPECT_EQ(problems_of(row, Format::csv, {}, household),
              Told{"line 2, column medicine: 'enoxaparin-100' is not a medicine this hub knows; its settings "
                   "name none."});
}

// Counting lines from the start for every field would take minutes here.
TEST(BadInputTest, TheLargestFileIsReadInSeconds) {
    std::string text = "[";
    for (int i = 0; i < 20'000; ++i)
        text += (i == 0 ? "\n" : ",\n") + weight_with(R"("note":"as usual","how":"measured")");
    const auto started = std::chrono::steady_clock::now();
    const Reading reading = read(text + "\n]", Format::json);
    EXPECT_EQ(reading.drafts.size(), 20'000u);
    EXPECT_EQ(reading.drafts.back().where, "line 20001, /19999");
    EXPECT_LT(std::chrono::steady_clock::now() - started, std::chrono::seconds(20));
}

}  // namespace

}  // namespace nightferry::entry
