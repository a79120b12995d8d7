// Random diaries beside a slow judge that looks at all pairs, and random distances beside their squares.
#include <random>

#include "daemon/care/sites.hpp"
#include "tests/daemon/care/site_diary.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using enum entry::FindingKind;
using Texts = std::vector<std::string>;

// What the rules say of one dose beside everything before it, pair by pair, in quarters of a centimetre.
class SlowJudge {
 public:
    explicit SlowJudge(const SiteDiary& diary) : diary_(diary) {}

    Texts notes() const {
        Texts all;
        for (std::size_t i = 0; i < diary_.doses.size(); ++i)
            judge(i, all);
        return all;
    }

 private:
    static int quarters(const Decimal& cm) {
        return static_cast<int>(divide(cm, Decimal(25, 2), 0, Rounding::down)->coefficient());
    }

    static int square(const entry::Site& a, const entry::Site& b) {
        const bool one_grid =
            a.region == b.region && (a.region == entry::Region::abdomen || a.side == b.side);
        if (!one_grid || !a.x_cm || !b.x_cm) return 1'000'000;
        const int x = quarters(*a.x_cm) - quarters(*b.x_cm);
        const int y = quarters(*a.y_cm) - quarters(*b.y_cm);
        return x * x + y * y;
    }

    // The newest look before the dose at each labelled lesion.
    std::map<std::pair<BodyZone, std::string>, const Look*> newest(Instant at) const {
        std::map<std::pair<BodyZone, std::string>, const Look*> looks;
        for (const Look& look : diary_.looks) {
            if (look.at < at) looks[{zone_of(*look.finding.site), *look.finding.lesion}] = &look;
        }
        return looks;
    }

    void judge(std::size_t i, Texts& all) const {
        const GivenDose& dose = diary_.doses[i];
        const std::string name = "#" + std::to_string(i + 1);
        const entry::Site navel{entry::Region::abdomen, entry::Side::left, Decimal(), Decimal()};
        if (square(dose.site, navel) < 20 * 20) all.push_back(name + " near_navel");
        int least = 10 * 10;
        bool assessable = dose.site.x_cm.has_value();
        for (std::size_t j = 0; j < i; ++j) {
            const GivenDose& other = diary_.doses[j];
            if (dose.at - other.at > 7 * 24h) continue;
            least = std::min(least, square(dose.site, other.site));
            assessable = assessable && (zone_of(other.site) != zone_of(dose.site) || other.site.x_cm);
        }
        if (least < 10 * 10) all.push_back(name + " close_to_recent " + std::to_string(least));
        if (i > 0 && diary_.doses[i - 1].site.side == dose.site.side) all.push_back(name + " same_side");
        bool bruised = false;
        for (const auto& [lesion, look] : newest(dose.at)) {
            const entry::Finding& finding = look->finding;
            if (finding.what != bruise || !finding.present) continue;
            const int twice_reach = quarters(*finding.length_cm) + 8;
            bruised = bruised || 4 * square(dose.site, *finding.site) < twice_reach * twice_reach;
            assessable = assessable && (zone_of(*finding.site) != zone_of(dose.site) || finding.site->x_cm);
        }
        if (bruised) all.push_back(name + " in_bruise");
        if (rests(dose)) all.push_back(name + " resting");
        if (!assessable) all.push_back(name + " not_assessable");
    }

    bool rests(const GivenDose& dose) const {
        for (const auto& [lesion, look] : newest(dose.at + 1us)) {
            if (lesion.first != zone_of(dose.site) || look->finding.what != lump) continue;
            if (look->finding.present) return true;
            // In UTC, where days are multiples of 24 hours.
            Instant gone = look->at;
            bool found = false;
            for (const Look& earlier : diary_.looks) {
                if (earlier.at > look->at || earlier.finding.lesion != lesion.second ||
                    zone_of(*earlier.finding.site) != lesion.first)
                    continue;
                if (earlier.finding.present) gone = look->at;
                if (!earlier.finding.present && gone == look->at) gone = earlier.at;
                found = found || earlier.finding.present;
            }
            if (found && dose.at < std::chrono::floor<std::chrono::days>(gone) + std::chrono::days{8})
                return true;
        }
        return false;
    }

    const SiteDiary& diary_;
};

class RandomDiaries {
 public:
    explicit RandomDiaries(unsigned seed) : random_(seed) {}

    SiteDiary next() {
        SiteDiary diary;
        Instant at = instant("2026-10-12T00:00Z");
        for (int i = 0; i < 80; ++i) {
            at += between(0, 3) * 6h;
            if (between(0, 2) > 0) {
                diary.given(at, place());
                continue;
            }
            // A label says by itself what the lesion is.
            const bool is_lump = between(0, 2) == 0;
            const std::string label = (is_lump ? "L" : "B") + std::to_string(between(1, 2));
            const std::string lengths[] = {"gone", "0.5", "1", "2.25", "3"};
            diary.seen(at, is_lump ? lump : bruise, place(), lengths[between(0, 4)], label);
        }
        return diary;
    }

 private:
    int between(int least, int most) { return std::uniform_int_distribution<int>(least, most)(random_); }

    entry::Site place() {
        entry::Site place =
            site(std::vector<std::string>{"AL", "AR", "TL", "TR"}[static_cast<std::size_t>(between(0, 3))]);
        if (between(0, 19) == 0) return place;
        const int x = between(0, 40);
        place.x_cm = Decimal(25 * (place.side == entry::Side::left ? x : -x), 2);
        place.y_cm = Decimal(25 * between(-30, 30), 2);
        return place;
    }

    std::mt19937 random_;
};

// The judge names no limits and no others, but the square of the distance in quarters.
std::string in_brief(const SiteNote& note, const std::string& told) {
    std::string brief = told.substr(0, told.find(' ', told.find(' ') + 1));
    if (note.concern == SiteConcern::close_to_recent) {
        const std::int64_t thousandths = note.distance_cm->coefficient();
        brief += ' ' + std::to_string((thousandths * thousandths * 16 + 500'000) / 1'000'000);
    }
    return brief;
}

TEST(SitesTest, RandomDiariesAreJudgedAsByLookingAtAllPairs) {
    constexpr unsigned seed = 20261013;
    RandomDiaries diaries(seed);
    const Zone home = zone("Etc/UTC");
    std::size_t notes = 0;
    for (int round = 0; round < 300; ++round) {
        const SiteDiary diary = diaries.next();
        Texts found;
        for (const SiteNote& note : check_sites(diary.doses, diary.looks, diary.rules, home))
            found.push_back(in_brief(note, diary.told(note)));
        ASSERT_EQ(found, SlowJudge(diary).notes()) << "seed " << seed << " round " << round;
        notes += found.size();
    }
    EXPECT_GT(notes, 3'000U);
}

TEST(SitesTest, ShownDistancesAreTheRootRoundedHalfUp) {
    constexpr unsigned seed = 20261014;
    std::mt19937 random(seed);
    SiteRules rules;
    rules.navel_margin_cm = Decimal(1000, 0);
    const Zone home = zone("Etc/UTC");
    for (int round = 0; round < 20'000; ++round) {
        const int most = round % 2 == 0 ? 60'000'000 : 3000;
        std::uniform_int_distribution<std::int64_t> millionths(-most, most);
        const std::int64_t x = millionths(random);
        const std::int64_t y = millionths(random);
        GivenDose dose;
        dose.site.x_cm = Decimal(x, 6);
        dose.site.y_cm = Decimal(y, 6);
        const auto shown = check_sites(std::span(&dose, 1), {}, rules, home).at(0).distance_cm->coefficient();
        // At most half a thousandth above the root, and less than that below it.
        const std::int64_t least = std::max<std::int64_t>(0, shown * 1000 - 500);
        const std::int64_t most_not = shown * 1000 + 500;
        ASSERT_LE(least * least, x * x + y * y) << "seed " << seed << " round " << round;
        ASSERT_GT(most_not * most_not, x * x + y * y) << "seed " << seed << " round " << round;
    }
}

}  // namespace
}  // namespace nightferry::care
