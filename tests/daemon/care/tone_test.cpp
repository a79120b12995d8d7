// Nothing that this room says is an instruction about a dose. Every text of every situation that a made-up
// diary can bring about is read for verbs in the form that instructs.
#include <random>
#include <regex>
#include <set>

#include "daemon/care/fact_words.hpp"
#include "daemon/care/review_json.hpp"
#include "fhir/json/writer.hpp"
#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
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

// A diary of nothing but trouble: every finding, amounts from nothing to tenfold, doses at any time, sites
// anywhere.
Known trouble(std::mt19937& random) {
    const auto between = [&](int least, int most) {
        return std::uniform_int_distribution<int>(least, most)(random);
    };
    Known known;
    const auto id = [&] { return NameSpace("tone").id_for(std::to_string(random())); };
    const Instant start = instant("2026-10-12T00:00Z");
    for (int i = 0; i < 40; ++i) {
        const entry::Amount amount{Decimal(between(1, 250), 2), entry::Unit::millilitre};
        const Instant at = start + between(0, 14 * 24 * 60) * 1min;
        const bool other = between(0, 9) == 0;
        const entry::Medicine medicine = other ? *household().medicine("dalteparin-10000") : enoxaparin;
        entry::Site site{
            static_cast<entry::Region>(between(0, 4)), static_cast<entry::Side>(between(0, 1)), {}, {}};
        if (between(0, 1) == 1) {
            site.x_cm = Decimal(between(-9, 9), 0);
            site.y_cm = Decimal(between(-9, 9), 0);
        }
        const std::string vial = "V" + std::to_string(between(1, 4));
        known.doses.push_back({id(), at, medicine.key, amount, *size_of(amount, medicine), site,
                               between(0, 5) == 0 ? std::nullopt : std::optional(vial), "marlow",
                               at + between(0, 50) * 1h, between(0, 3) == 0});
    }
    for (int i = 0; i <= static_cast<int>(entry::FindingKind::other) * 3; ++i) {
        entry::Finding finding;
        finding.what = static_cast<entry::FindingKind>(i % (static_cast<int>(entry::FindingKind::other) + 1));
        finding.minutes = Decimal(between(1, 60), 0);
        if (entry::place_of(finding.what) != entry::Place::elsewhere) {
            finding.site = entry::Site{entry::Region::thigh, entry::Side::left, Decimal(1, 0), Decimal(1, 0)};
            finding.length_cm = Decimal(between(1, 9), 0);
            finding.width_cm = Decimal(1, 0);
            finding.lesion = "L";
        }
        known.looks.push_back({id(), start + between(0, 14 * 24 * 60) * 1min, finding});
    }
    for (int i = 0; i < 3; ++i) {
        known.vials.push_back({id(),
                               start + between(0, 72) * 1h,
                               "enoxaparin-100",
                               "V" + std::to_string(i + 1),
                               Decimal(3, 0),
                               {},
                               "2026-10-15"});
        known.weights.push_back({id(), start + i * 24h, Decimal(15 + 3 * i, 0), entry::HowWeighed::measured});
        known.not_given.push_back({id(), start + between(0, 300) * 1h, entry::WhyNotGiven::forgot, {}});
        known.not_given.push_back(
            {id(), start + between(0, 300) * 1h, entry::WhyNotGiven::clinic_hold, "the nurse"});
    }
    known.unreadable.push_back(id());
    const auto at = [](const auto& one) { return one.at; };
    std::ranges::sort(known.doses, {}, at);
    std::ranges::sort(known.looks, {}, at);
    std::ranges::sort(known.vials, {}, at);
    std::ranges::sort(known.not_given, {}, &NotGiven::due);
    return known;
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
