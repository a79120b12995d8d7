// The sample documents the settings, and the manual page is made of it; so it has to name every key that is
// read.
#include <gmock/gmock.h>

#include <algorithm>
#include <regex>
#include <set>

#include "config/load_settings.hpp"
#include "tests/support/files.hpp"

namespace nightferry::config {
namespace {

// Whatever in the sources of this room could be a key.
std::set<std::string> possible_keys() {
    static const std::regex word(R"rx("([a-z][a-z_0-9]+)")rx");
    std::set<std::string> found;
    for (const auto& item :
         std::filesystem::directory_iterator(std::filesystem::path(NIGHTFERRY_SOURCE_DIR) / "config")) {
        if (item.path().extension() != ".cpp") continue;
        const std::string source = test::read_file(item.path());
        for (std::sregex_iterator it(source.begin(), source.end(), word), end; it != end; ++it)
            found.insert((*it)[1]);
    }
    return found;
}

// A heading of the sample, the settings below it, and every key that is named there, in comments as well.
struct Section {
    std::string heading;
    std::string lines;
    std::set<std::string> set;
    std::set<std::string> named;
};

// One of each heading; a list that is there twice has the keys of both.
std::vector<Section> sections_of_sample() {
    static const std::regex heading(R"rx(^#?(\[+[a-z.]+\]+).*)rx");
    static const std::regex setting(R"rx(^#?(([a-z_0-9-]+) = ".*))rx");
    static const std::regex key(R"rx(([a-z_0-9]+) = ")rx");
    std::istringstream sample(test::source_file("config/nightferry.sample.toml"));
    std::vector<Section> sections;
    auto current = sections.end();
    for (std::string line; std::getline(sample, line);) {
        std::smatch match;
        if (std::regex_match(line, match, heading)) {
            current = std::ranges::find(sections, match[1].str(), &Section::heading);
            if (current == sections.end()) current = sections.insert(current, {match[1], "", {}, {}});
            continue;
        }
        if (sections.empty()) continue;
        if (std::regex_match(line, match, setting) && current->set.insert(match[2]).second)
            current->lines += match[1].str() + "\n";
        for (std::sregex_iterator it(line.begin(), line.end(), key), end; it != end; ++it)
            current->named.insert((*it)[1]);
    }
    return sections;
}

// The names of tables inside other ones, which are no missing keys of those.
std::set<std::string> names_of_tables(const std::vector<Section>& sections) {
    static const std::regex last(R"rx(([a-z]+)\]+$)rx");
    std::set<std::string> names;
    for (const Section& section : sections) {
        std::smatch match;
        if (std::regex_search(section.heading, match, last)) names.insert(match[1]);
    }
    return names;
}

TEST(SettingsDocumentedTest, EveryKeyThatIsReadIsInTheSample) {
    // Their keys are named elsewhere: kinds and levels of flags, and the household's own keys.
    const std::set<std::string> free{"[regimen.flags]", "[regimen.texts]", "[clinic.patients]",
                                     "[clinic.carers]"};
    const std::vector<Section> sections = sections_of_sample();
    const std::set<std::string> candidates = possible_keys();
    const std::set<std::string> tables = names_of_tables(sections);
    ASSERT_GT(candidates.size(), 100u);
    std::string settings;
    std::multiset<std::string> unnamed;
    for (const Section& section : sections) {
        settings += section.heading + "\n" + section.lines;
        if (free.contains(section.heading)) continue;
        for (const std::string& candidate : candidates) {
            if (section.named.contains(candidate) || tables.contains(candidate)) continue;
            settings += candidate + " = \"no such key\"\n";
            unnamed.insert(candidate);
        }
    }
    std::multiset<std::string> unknown;
    for (const Problem& problem : parse_settings(settings, "/").problems) {
        if (problem.what.starts_with("is not a key we know"))
            unknown.insert(problem.key.substr(problem.key.rfind('.') + 1));
    }
    std::vector<std::string> missing;
    std::ranges::set_difference(unnamed, unknown, std::back_inserter(missing));
    EXPECT_THAT(missing, ::testing::IsEmpty()) << "is read, and the sample does not name it";
    EXPECT_EQ(unknown.size(), unnamed.size());
}

}  // namespace
}  // namespace nightferry::config
