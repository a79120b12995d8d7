// Holds deploy/runbook.md to what the programs really tell: every event of the log, every metric and every
// flag stands there, and nothing stands there that is none. And what is told bears only the facts that the
// table of events names.
#include <gtest/gtest.h>

#include <regex>
#include <set>

#include "daemon/care/flag.hpp"
#include "daemon/core/log_events.hpp"
#include "daemon/watching/metrics.hpp"
#include "tests/support/files.hpp"

namespace nightferry::test {
namespace {

namespace fs = std::filesystem;
using Names = std::set<std::string>;

// The names in the first column of the tables below a heading: "| `name` | …".
Names rows_below(const std::string& heading) {
    std::istringstream lines(source_file("deploy/runbook.md"));
    static const std::regex row(R"rx(^\| `([a-z_]+)` \|.*)rx");
    Names names;
    bool is_below = false;
    for (std::string line; std::getline(lines, line);) {
        if (line.starts_with("## ")) is_below = line == "## " + heading;
        std::smatch match;
        if (!is_below || !std::regex_match(line, match, row)) continue;
        EXPECT_TRUE(names.insert(match[1]).second) << match[1] << " stands there twice";
    }
    return names;
}

std::string all_sources() {
    std::string all;
    for (const char* folder : {"daemon", "config"}) {
        for (const auto& item : fs::recursive_directory_iterator(fs::path(NIGHTFERRY_SOURCE_DIR) / folder)) {
            const std::string path = item.path().string();
            if (path.ends_with(".cpp") && !path.ends_with("log_events.cpp")) all += read_file(item.path());
        }
    }
    return all;
}

TEST(RunbookTest, EveryEventOfTheLogIsExplainedAndNoOther) {
    Names names;
    for (const LogEventKind& kind : log_events())
        names.insert(std::string(kind.name));
    EXPECT_EQ(rows_below("Events of the log"), names);
}

TEST(RunbookTest, EveryMetricIsExplainedAndNoOther) {
    Names names;
    for (const auto& kind : watching::metric_kinds())
        names.insert(std::string(kind.name) + std::string(ending_of(kind.type)));
    EXPECT_EQ(rows_below("Metrics"), names);
}

TEST(RunbookTest, EveryFlagIsExplainedAndNoOther) {
    Names names;
    for (const auto& one : care::flag_defaults())
        names.insert(std::string(one.word));
    EXPECT_EQ(rows_below("Flags"), names);
}

TEST(RunbookTest, EveryEventIsToldSomewhere) {
    const std::string sources = all_sources();
    for (const LogEventKind& kind : log_events()) {
        const std::regex use("LogEvent::" + std::string(kind.name) + "\\b");
        EXPECT_TRUE(std::regex_search(sources, use)) << kind.name << " is told by nobody";
    }
}

// A call names its event, or one of two, and tells its facts as {"key", …} before its end.
TEST(RunbookTest, EventsBearTheFactsOfTheirKindOnly) {
    const std::string sources = all_sources();
    static const std::regex event(R"rx(LogEvent::(\w+))rx");
    static const std::regex key(R"rx(\{"(\w+)",)rx");
    const std::sregex_iterator none;
    std::size_t named = 0;
    for (auto at = sources.find("event("); at != std::string::npos; at = sources.find("event(", at + 1)) {
        const std::string call = sources.substr(at, sources.find(';', at) - at);
        for (std::sregex_iterator it(call.begin(), call.end(), event); it != none; ++it, ++named) {
            const std::string name = (*it)[1];
            const auto kind = std::ranges::find(log_events(), name, &LogEventKind::name);
            ASSERT_NE(kind, log_events().end()) << name;
            const std::string allowed = " " + std::string(kind->facts) + " ";
            for (std::sregex_iterator one(call.begin(), call.end(), key); one != none; ++one) {
                EXPECT_NE(allowed.find(" " + (*one)[1].str() + " "), std::string::npos)
                    << name << ": " << (*one)[1];
            }
        }
    }
    EXPECT_GE(named, 20u) << "the pattern no longer finds them";
}

TEST(RunbookTest, NoFactTakesTheNameOfAnotherMember) {
    for (const LogEventKind& kind : log_events()) {
        std::istringstream facts{std::string(kind.facts)};
        for (std::string fact; facts >> fact;)
            EXPECT_FALSE(Names({"time", "level", "event", "left_out", "since", "newest"}).contains(fact))
                << kind.name;
    }
}

// Nothing in the rules and the dashboard may ask for what the hub does not tell.
TEST(RunbookTest, MonitoringAsksForMetricsThatThereAre) {
    Names names;
    for (const auto& kind : watching::metric_kinds())
        names.insert(std::string(kind.name) + std::string(ending_of(kind.type)));
    static const std::regex metric(R"rx(\bnightferry_[a-z_]+)rx");
    std::size_t asked = 0;
    for (const char* file : {"alerts.yml", "alerts_test.yml", "nightferry.html"}) {
        const std::string text = source_file("deploy/monitoring/" + std::string(file));
        for (std::sregex_iterator it(text.begin(), text.end(), metric), end; it != end; ++it, ++asked)
            EXPECT_TRUE(names.contains((*it)[0])) << file << ": " << (*it)[0];
    }
    EXPECT_GE(asked, 20u);
}

// "Events of the log: one, another", or "Metrics: …"; "{{ $labels.event }}" stands for what the expression
// names.
TEST(RunbookTest, EachAlertNamesARowThatIsThere) {
    static const std::regex chosen(R"rx(event=~?"([a-z_|]+)")rx");
    static const std::regex annotation(R"rx(runbook: "([A-Za-z ]+): (.*)")rx");
    static const std::regex name(R"rx([a-z_]{4,})rx");
    std::istringstream lines(source_file("deploy/monitoring/alerts.yml"));
    std::string events;
    std::size_t alerts = 0;
    for (std::string line; std::getline(lines, line);) {
        alerts += line.find("- alert: ") != std::string::npos ? 1 : 0;
        std::smatch match;
        if (std::regex_search(line, match, chosen)) events = match[1];
        if (!std::regex_search(line, match, annotation)) continue;
        const Names rows = rows_below(match[1]);
        std::string named = match[2];
        if (named.starts_with("{{")) named = events;
        named = named.substr(0, named.find(", outcome"));
        std::size_t found = 0;
        for (std::sregex_iterator it(named.begin(), named.end(), name), end; it != end; ++it, ++found)
            EXPECT_TRUE(rows.contains((*it)[0])) << match[1] << ": " << (*it)[0];
        EXPECT_GT(found, 0u) << line;
        --alerts;
    }
    EXPECT_EQ(alerts, 0u) << "an alert without a row";
}

// It is installed without the folders around it.
// The package puts the pages into folders like these; tests/package/life.sh looks at them there.
TEST(PagesTest, LinksLeadToFilesThatAreThere) {
    static const std::regex link(R"rx(\]\(([^)#:]+)(#[^)]*)?\))rx");
    std::size_t links = 0;
    for (const char* folder : {".", "deploy", "config"}) {
        for (const auto& item : fs::directory_iterator(fs::path(NIGHTFERRY_SOURCE_DIR) / folder)) {
            if (item.path().extension() != ".md") continue;
            const std::string text = read_file(item.path());
            for (std::sregex_iterator it(text.begin(), text.end(), link), end; it != end; ++it, ++links)
                EXPECT_TRUE(fs::exists(item.path().parent_path() / (*it)[1].str()))
                    << item.path() << ": " << (*it)[1];
        }
    }
    EXPECT_GT(links, 20u);
}

}  // namespace
}  // namespace nightferry::test
