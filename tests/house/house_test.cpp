// Holds the tree to its own rules: includes follow the arrows of the link lines, only some rooms touch
// sockets and clocks, no test file lies around unbuilt, no function outgrows a screen.
#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <regex>
#include <set>

#include "tests/support/files.hpp"

namespace nightferry::test {
namespace {

namespace fs = std::filesystem;

const fs::path source_dir{NIGHTFERRY_SOURCE_DIR};

std::vector<std::string> lines_of(const fs::path& file) {
    std::ifstream stream(file);
    std::vector<std::string> lines;
    for (std::string line; std::getline(stream, line);)
        lines.push_back(line);
    return lines;
}

std::string place_of(const fs::path& file) {
    return fs::relative(file, source_dir).generic_string();
}

std::vector<fs::path> sources_below(const std::vector<std::string>& folders) {
    std::vector<fs::path> files;
    for (const std::string& folder : folders) {
        for (const auto& item : fs::recursive_directory_iterator(source_dir / folder)) {
            const std::string ending = item.path().extension().string();
            if (item.is_regular_file() && (ending == ".cpp" || ending == ".hpp"))
                files.push_back(item.path());
        }
    }
    return files;
}

std::vector<fs::path> production() {
    return sources_below({"fhir", "daemon", "config", "deploy"});
}

// Room to the rooms it names in its link line, as the build wrote them down.
std::map<std::string, std::set<std::string>> rooms() {
    std::map<std::string, std::set<std::string>> rooms;
    for (const std::string& line : lines_of(fs::path(NIGHTFERRY_BINARY_DIR) / "rooms.txt")) {
        const auto colon = line.find(':');
        if (colon == std::string::npos) continue;
        std::istringstream uses(line.substr(colon + 1));
        std::set<std::string>& named = rooms[line.substr(0, colon)];
        for (std::string one; uses >> one;)
            named.insert(one);
    }
    return rooms;
}

std::string folder_of(const std::string& path) {
    return path.substr(0, path.rfind('/'));
}

std::vector<std::string> own_includes(const fs::path& file) {
    static const std::regex include(R"rx(^\s*#include "([^"]+)")rx");
    std::vector<std::string> found;
    for (const std::string& line : lines_of(file)) {
        std::smatch match;
        if (std::regex_search(line, match, include)) found.push_back(match[1]);
    }
    return found;
}

// The composition roots see everything they wire together.
const std::set<std::string> roots{"daemon/nightferryd.cpp", "daemon/nightferry.cpp",
                                  "deploy/practice_clinic/practice_clinic.cpp"};

TEST(HouseTest, EveryIncludeFollowsAnArrowOfTheLinkLines) {
    const auto arrows = rooms();
    ASSERT_GE(arrows.size(), 10U);
    for (const fs::path& file : production()) {
        const std::string room = folder_of(place_of(file));
        const auto own = arrows.find(room);
        if (roots.contains(place_of(file)) || own == arrows.end()) continue;
        for (const std::string& included : own_includes(file)) {
            const std::string other = folder_of(included);
            EXPECT_TRUE(other == room || own->second.contains(other))
                << place_of(file) << " includes " << included << ", but " << room << " does not name "
                << other;
        }
    }
}

TEST(HouseTest, EveryRoomHoldsItsSourcesAndNoSourceIsHomeless) {
    const auto arrows = rooms();
    for (const fs::path& file : production()) {
        const std::string path = place_of(file);
        EXPECT_TRUE(arrows.contains(folder_of(path)) || roots.contains(path)) << path << " lies in no room";
    }
}

TEST(HouseTest, ForbiddenArrowsAreNotDrawn) {
    for (const auto& [room, uses] : rooms()) {
        for (const std::string& used : uses) {
            const std::string arrow = room + " -> " + used;
            EXPECT_FALSE(room.starts_with("fhir/") && !used.starts_with("fhir/")) << arrow;
            EXPECT_FALSE(room == "daemon/sync" && used == "daemon/net") << arrow;
            EXPECT_FALSE((room == "daemon/entry" || room == "daemon/mapping") &&
                         (used == "daemon/logbook" || used == "daemon/net"))
                << arrow;
            EXPECT_FALSE(used.starts_with("tests")) << arrow;
        }
    }
}

TEST(HouseTest, ProductionNeverIncludesTests) {
    for (const fs::path& file : production()) {
        for (const std::string& included : own_includes(file))
            EXPECT_FALSE(included.starts_with("tests/")) << place_of(file);
    }
}

TEST(HouseTest, OnlyTheOuterRoomsTouchTheEventLoop) {
    const std::set<std::string> allowed{"daemon/door", "daemon/net", "daemon/service",
                                        "deploy/practice_clinic"};
    for (const fs::path& file : production()) {
        const std::string path = place_of(file);
        if (allowed.contains(folder_of(path)) || path.starts_with("daemon/intake/inbox_watch")) continue;
        for (const std::string& line : lines_of(file)) {
            EXPECT_EQ(line.find("<boost/asio"), std::string::npos) << path;
            EXPECT_EQ(line.find("<boost/beast"), std::string::npos) << path;
        }
    }
}

TEST(HouseTest, OnlyTheNetRoomReadsClocksAndChance) {
    for (const fs::path& file : production()) {
        const std::string path = place_of(file);
        if (path.starts_with("daemon/net/")) continue;
        for (const std::string& line : lines_of(file)) {
            for (const char* word :
                 {"system_clock::now", "steady_clock::now", "random_device", "::time(", "gettimeofday"}) {
                EXPECT_EQ(line.find(word), std::string::npos) << path << ": " << line;
            }
        }
    }
}

TEST(HouseTest, OnlyTheLogbookKnowsSql) {
    for (const fs::path& file : production()) {
        const std::string path = place_of(file);
        if (path.starts_with("daemon/logbook/")) continue;
        for (const std::string& line : lines_of(file))
            EXPECT_EQ(line.find("sqlite3.h"), std::string::npos) << path;
    }
}

TEST(HouseTest, EveryTestFileIsBuilt) {
    std::set<std::string> built;
    for (const std::string& line : lines_of(fs::path(NIGHTFERRY_BINARY_DIR) / "test_sources.txt")) {
        if (!line.empty()) built.insert(place_of(line));
    }
    for (const fs::path& file : sources_below({"tests"})) {
        const std::string path = place_of(file);
        if (!path.ends_with("_test.cpp")) continue;
        EXPECT_TRUE(built.contains(path)) << path << " is built by nobody";
    }
}

// A function starts at a line that ends in "{" without indentation (or one level, inside a class) and ends
// at the closing brace of the same indentation. A line with a lambda in it belongs to a statement.
TEST(HouseTest, NoFunctionOutgrowsAScreen) {
    constexpr std::size_t lines_max = 70;
    static const std::regex opening(R"rx(^(    |)[A-Za-z~].*\) ?(const|noexcept|override| )*\{$)rx");
    for (const fs::path& file : production()) {
        const auto lines = lines_of(file);
        for (std::size_t i = 0; i < lines.size(); ++i) {
            std::smatch match;
            const bool has_lambda = lines[i].find("](") != std::string::npos;
            if (has_lambda || !std::regex_match(lines[i], match, opening)) continue;
            const std::string closing = match[1].str() + "}";
            std::size_t end = i;
            while (end < lines.size() && lines[end] != closing)
                ++end;
            EXPECT_LE(end - i, lines_max)
                << place_of(file) << ":" << i + 1 << " runs over " << end - i << " lines";
        }
    }
}

// The page for developers names the tests that prove each promise; a test of that name has to exist.
TEST(HouseTest, EveryTestThatTheDocumentationNamesExists) {
    std::string all;
    for (const fs::path& file : sources_below({"tests"}))
        all += read_file(file);
    const std::string page = read_file(source_dir / "DEVELOPERS.md");
    static const std::regex name(R"rx(`([A-Z][A-Za-z]+Test)`)rx");
    std::size_t named = 0;
    for (std::sregex_iterator it(page.begin(), page.end(), name), end; it != end; ++it) {
        const std::string suite = (*it)[1];
        EXPECT_TRUE(all.find("(" + suite + ",") != std::string::npos)
            << suite << " is named but does not exist";
        ++named;
    }
    EXPECT_GE(named, 8U);
}

TEST(HouseTest, TheTopLevelIsAsPlanned) {
    const std::set<std::string> planned{"CMakeLists.txt", "README.md", "DEVELOPERS.md", "LICENSE", "daemon",
                                        "fhir",           "config",    "tests",         "deploy"};
    for (const auto& item : fs::directory_iterator(source_dir)) {
        const std::string name = item.path().filename().string();
        const bool local = name.starts_with('.') || name.starts_with("build");
        EXPECT_TRUE(local || planned.contains(name)) << name << " does not belong at the top level";
    }
}

}  // namespace
}  // namespace nightferry::test
