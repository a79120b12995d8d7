// What holds of every review, whatever was ordered and whatever was written down. The seed is printed on
// failure.
#include "daemon/care/review.hpp"

#include "daemon/care/review_json.hpp"
#include "daemon/care/summaries.hpp"
#include "fhir/json/writer.hpp"
#include "tests/daemon/care/diary.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;

constexpr unsigned seed = 20261128;

// One to four doses a day, of amounts that differ, in some zone, perhaps changed in between.
Plan random_plan(std::mt19937& random) {
    const auto between = [&](int least, int most) {
        return std::uniform_int_distribution<int>(least, most)(random);
    };
    const std::vector<std::string> zones{"Europe/Dublin", "Australia/Lord_Howe", "Asia/Kathmandu",
                                         "America/St_Johns", "UTC"};
    Plan plan;
    plan.person = "juniper";
    LocalSecond from = local("2026-10-10T00:00");
    for (int version = between(1, 3); version > 0; --version) {
        Order order{from, zone(zones[static_cast<std::size_t>(between(0, 4))]), "enoxaparin-100", {}};
        const int daily = between(1, 4);
        for (int i = 0; i < daily; ++i)
            order.doses.push_back({(24h / daily) * i + between(0, 300) * 1min,
                                   {Decimal(between(5, 100), 2), entry::Unit::millilitre}});
        plan.regimen.orders.push_back(std::move(order));
        from += between(3, 6) * 24h;
    }
    if (between(0, 1) == 1)
        plan.regimen.holds.push_back(
            {instant("2026-10-17T00:00Z"), instant("2026-10-18T12:00Z"), "the nurse", {}, {}});
    return plan;
}

Review review(const Plan& plan, const Known& known) {
    return review_of_known(plan, household(), known, {fortnight_from, fortnight_to}, long_after);
}

std::string as_text(const Review& of) {
    fhir::json::Document document;
    put_review(document.root(), of, household());
    return fhir::json::write(document.root());
}

template <class Check>
void for_many(Check check) {
    std::mt19937 random(seed);
    for (int round = 0; round < 150; ++round) {
        SCOPED_TRACE("seed " + std::to_string(seed) + " round " + std::to_string(round));
        const Plan plan = random_plan(random);
        check(plan, trouble(random));
    }
}

TEST(ReviewPropertiesTest, SharesLieBetweenNothingAndAll) {
    for_many([](const Plan& plan, const Known& known) {
        const Adherence figures = review(plan, known).figures.value();
        for (const Share& share :
             {figures.slots_filled, figures.days_as_ordered, figures.days_covered, figures.near_time,
              figures.wide_time, figures.intervals, figures.ordered_amount}) {
            EXPECT_GE(share.n, 0);
            EXPECT_LE(share.n, share.of);
        }
        EXPECT_LE(figures.near_time.n, figures.wide_time.n);
        EXPECT_LE(figures.wide_time.n, figures.slots_filled.n);
        EXPECT_LE(figures.days_as_ordered.n, figures.days_covered.n);
        EXPECT_EQ(figures.taken.n, figures.slots_filled.n + figures.extra);
        EXPECT_EQ(figures.slots_filled.of, figures.slots_filled.n + figures.missed + figures.no_record);
        for (const auto& [medicine, content] : figures.contents) {
            EXPECT_GE(content.given, Decimal()) << medicine;
            EXPECT_GE(content.ordered, Decimal()) << medicine;
        }
    });
}

TEST(ReviewPropertiesTest, EverySlotAndEveryDoseIsAccountedForOnce) {
    for_many([](const Plan& plan, const Known& known) {
        const Review of = review(plan, known);
        EXPECT_EQ(of.timeline.doses.size() + of.timeline.provisional.size(), known.doses.size());
        std::set<std::size_t> filled;
        for (const DoseRecord& dose : of.timeline.doses) {
            EXPECT_TRUE(!dose.slot || filled.insert(*dose.slot).second);
        }
        for (std::size_t i = 0; i < of.timeline.slots.size(); ++i)
            EXPECT_EQ(of.timeline.slots[i].fate == SlotFate::given, filled.contains(i));
    });
}

TEST(ReviewPropertiesTest, WeeksAndDaysAddUpToThePeriod) {
    for_many([](const Plan& plan, const Known& known) {
        const Review of = review(plan, known);
        Share weeks;
        for (const Week& week : of.weeks) {
            weeks.n += week.figures->slots_filled.n;
            weeks.of += week.figures->slots_filled.of;
        }
        EXPECT_EQ(weeks, of.figures->slots_filled);
    });
}

// The same dose, written down a second time by somebody else a few minutes later.
TEST(ReviewPropertiesTest, WritingADoseDownTwiceChangesNoFigure) {
    for_many([](const Plan& plan, const Known& known) {
        const Review once = review(plan, known);
        if (once.timeline.doses.empty()) return;
        Known twice = known;
        GivenDose copy = once.timeline.doses[once.timeline.doses.size() / 2].given;
        copy.id = NameSpace("twice").id_for(copy.id.to_string());
        copy.at += 1min;
        copy.by = "tove";
        copy.is_separate = false;
        twice.doses.push_back(copy);
        std::ranges::sort(twice.doses, [](const auto& a, const auto& b) {
            return std::tie(a.at, a.id) < std::tie(b.at, b.id);
        });
        const Review again = review(plan, twice);
        EXPECT_EQ(again.figures->taken, once.figures->taken);
        EXPECT_EQ(again.figures->slots_filled, once.figures->slots_filled);
        EXPECT_EQ(again.figures->intervals, once.figures->intervals);
        EXPECT_EQ(again.figures->deviation_sum, once.figures->deviation_sum);
        EXPECT_EQ(again.figures->contents.size(), once.figures->contents.size());
        EXPECT_EQ(again.timeline.provisional.size(), once.timeline.provisional.size() + 1);
    });
}

TEST(ReviewPropertiesTest, VolumeIsNeitherMadeNorLost) {
    for_many([](const Plan& plan, const Known& known) {
        for (const VialState& vial : review(plan, known).vials.vials) {
            if (!vial.left_ml) continue;
            EXPECT_EQ(add(add(vial.injected_ml, vial.lost_ml).value(), *vial.left_ml), vial.volume_ml);
        }
    });
}

TEST(ReviewPropertiesTest, WhatHappenedLaterWasNotKnownBefore) {
    for_many([](const Plan& plan, const Known& known) {
        Known earlier = known;
        const Instant then = instant("2026-10-20T12:00Z");
        std::erase_if(earlier.doses, [&](const GivenDose& dose) { return dose.at > then; });
        const Review of = review_of_known(plan, household(), earlier, {fortnight_from, fortnight_to}, then);
        for (const SlotRecord& record : of.timeline.slots) {
            EXPECT_TRUE(record.slot.due.at <= then || record.fate != SlotFate::no_record);
        }
        for (const Flag& flag : of.flags)
            EXPECT_TRUE(flag.kind != FlagKind::no_record || flag.about < then) << flag.reason;
    });
}

TEST(ReviewPropertiesTest, KeysOfFlagsAreTheirOwn) {
    for_many([](const Plan& plan, const Known& known) {
        std::set<std::string> keys;
        for (const Flag& flag : review(plan, known).flags) {
            EXPECT_TRUE(keys.insert(flag.key).second) << flag.key;
            EXPECT_FALSE(flag.reason.empty());
        }
    });
}

TEST(ReviewPropertiesTest, SameRecordGivesTheSameText) {
    for_many([](const Plan& plan, const Known& known) {
        EXPECT_EQ(as_text(review(plan, known)), as_text(review(plan, known)));
    });
}

}  // namespace
}  // namespace nightferry::care
