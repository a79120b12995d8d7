// Nothing that this room says is an instruction about a dose. Every text of every situation that a made-up
// diary can bring about is read for verbs in the form that instructs.
#include <random>
#include <regex>
#include <set>

#include "daemon/care/fact_words.hpp"
#include "daemon/care/review_json.hpp"
#include "fhir/json/writer.hpp"
#include "tests/daemon/care/diary.hpp"

namespace nightferry::care {
namespace {

using namespace test;

const std::regex instruction(
    R"(\b(give|skip|omit|stop|start|continue|increase|decrease|reduce|raise|lower|halve|repeat|withhold|hold|take|inject|draw|change|adjust|delay|postpone|must|should|do not|don't)\b)",
    std::regex::icase);

// Without the names of things that happen to be verbs, too.
std::string without_names(std::string text) {
    for (const std::string name : {"lower back", "olour change"}) {
        for (auto at = text.find(name); at != std::string::npos; at = text.find(name))
            text.erase(at, name.size());
    }
    return text;
}

Plan plan() {
    Plan plan;
    plan.person = "juniper";
    plan.regimen = fortnight();
    plan.flags.note_days = std::chrono::days{365};
    plan.sites.regions = {entry::Region::abdomen, entry::Region::thigh};
    plan.sites.exclusions.push_back({{entry::Region::thigh, entry::Side::right, {}, {}}, {}, "scar"});
    return plan;
}

TEST(ToneTest, NothingSaidIsAnInstruction) {
    constexpr unsigned seed = 20261025;
    std::mt19937 random(seed);
    std::set<FlagKind> kinds;
    for (int round = 0; round < 60; ++round) {
        const Review review =
            review_of_known(plan(), household(), trouble(random), {fortnight_from, fortnight_to}, long_after);
        for (const Flag& flag : review.flags) {
            kinds.insert(flag.kind);
            std::smatch found;
            const std::string reason = without_names(flag.reason);
            EXPECT_FALSE(std::regex_search(reason, found, instruction))
                << found.str() << " in: " << flag.reason << " (seed " << seed << ")";
        }
    }
    EXPECT_EQ(kinds.size(), flag_defaults().size()) << "a kind of flag never came up";
}

TEST(ToneTest, DefaultTextsDeferToTheClinicOrTheEmergencyServices) {
    for (const Level level : {Level::note, Level::contact, Level::urgent}) {
        const std::string text(default_text(level));
        EXPECT_FALSE(std::regex_search(text, instruction)) << text;
        EXPECT_NE(text.find("clinic"), std::string::npos) << text;
    }
    EXPECT_NE(default_text(Level::urgent).find("emergency number"), std::string_view::npos);
}

TEST(ToneTest, TheTestFindsInstructions) {
    EXPECT_TRUE(std::regex_search(std::string("Please skip this one"), instruction));
    EXPECT_TRUE(std::regex_search(std::string("Give 0.18 mL"), instruction));
    EXPECT_FALSE(std::regex_search(std::string("0.18 mL (18 mg) was given"), instruction));
}

// Every word of the JSON form is in its documentation.
TEST(ReviewJsonTest, EveryMemberIsDocumented) {
    const std::string document = source_file("config/report-format.md");
    std::mt19937 random(7);
    fhir::json::Document answer;
    const Review review =
        review_of_known(plan(), household(), trouble(random), {fortnight_from, fortnight_to}, long_after);
    put_review(answer.root(), review, household());
    put_since_dose(answer.root().add_object("since"), since_dose_in(review, plan(), long_after),
                   SampleWindow{});
    for (const Flag& flag : review.flags)
        put_flag(answer.root().add_object(flag.key), flag, {});
    const std::regex name(R"rx("([a-z_0-9]+)":)rx");
    const std::string text = fhir::json::write(answer.root());
    std::set<std::string> names;
    for (auto it = std::sregex_iterator(text.begin(), text.end(), name); it != std::sregex_iterator(); ++it)
        names.insert((*it)[1]);
    EXPECT_GT(names.size(), 100U);
    // Those that entries have too are documented with them.
    const std::set<std::string> of_entries{
        "id",       "by",     "given",   "amount",    "unit",     "region", "side", "x_cm", "y_cm", "vial",
        "recorded", "lesion", "finding", "length_cm", "width_cm", "kg",     "how",  "at",   "look", "since"};
    for (const std::string& one : names)
        EXPECT_TRUE(of_entries.contains(one) || document.find("`" + one + "`") != std::string::npos) << one;
}

}  // namespace
}  // namespace nightferry::care
