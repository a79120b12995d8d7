// Which scheduled doses the opened vials cover. Numbers were worked out by hand.
#include "daemon/care/vials.hpp"

#include "tests/daemon/care/vial_shelf.hpp"

namespace nightferry::care {
namespace {

// Looks at every vial for every dose, in microlitres.
std::string forecast_plainly(const VialBook& book, const std::vector<ComingDose>& doses) {
    constexpr std::int64_t loss_ul = 10;
    std::vector<std::int64_t> left_ul;
    for (const VialState& vial : book.vials)
        left_ul.push_back(microlitres(vial.left_ml.value_or(Decimal(-1, 0))));
    Forecast found;
    for (const ComingDose& dose : doses) {
        bool is_covered = false;
        for (std::size_t i = 0; i < left_ul.size() && !is_covered; ++i) {
            const VialState& vial = book.vials[i];
            const std::int64_t after = left_ul[i] - microlitres(dose.ml) - loss_ul;
            is_covered = vial.medicine == dose.medicine && dose.due < vial.usable_until && after >= 0;
            if (!is_covered) continue;
            left_ul[i] = after;
            found.rest_ml = Decimal(after, 3).trimmed();
        }
        if (!is_covered) {
            found.first_uncovered = dose.due;
            return told(found);
        }
        ++found.doses_left;
        found.last_covered = dose.due;
    }
    return told(found);
}

TEST(ForecastTest, ThirdVialOfTheFortnightCoversFiveMoreDoses) {
    const auto doses = coming(fortnight(), "2026-11-02T00:00Z", "2026-12-01T00:00Z");
    EXPECT_EQ(forecast_told(fortnight_book(), doses),
              "5 until 2026-11-04T08:00:00Z, then 2026-11-04T20:00:00Z, 0.06 over");
}

// 0.04 mL with a loss of 0.01 twice a day from 3 mL: 60 draws by volume, 56 within 28 days.
TEST(ForecastTest, TimeMayEndAVialBeforeItsVolumeDoes) {
    const Regimen regimen{{every_twelve_hours("2026-10-12T08:00", "Europe/Dublin", "0.04")}, {}, {}};
    const auto doses = coming(regimen, "2026-10-12T00:00Z", "2026-12-31T00:00Z");
    const std::vector<OpenedVial> vials{vial("V1", "2026-10-12T07:00Z")};
    const VialRules long_lived{365, DayCount::from_opening, decimal("0.01")};
    const auto found = [&](const VialRules& rules) {
        const std::vector<VialRulesOf> named{{"enoxaparin-100", rules}};
        return forecast_told(follow(vials, {}, named), doses, named);
    };
    EXPECT_EQ(found(usual), "56 until 2026-11-08T20:00:00Z, then 2026-11-09T08:00:00Z, 0.2 over");
    EXPECT_EQ(found(day_one), "56 until 2026-11-08T20:00:00Z, then 2026-11-09T08:00:00Z, 0.2 over");
    EXPECT_EQ(found(long_lived), "60 until 2026-11-10T20:00:00Z, then 2026-11-11T08:00:00Z, 0 over");
}

TEST(ForecastTest, DosesComeFromTheVialOpenedFirstThatHoldsEnough) {
    const VialBook book =
        follow({vial("V1", "2026-10-12T07:00Z", "0.50"), vial("V2", "2026-10-12T08:00Z", "0.50")}, {});
    // Two from each, and 0.08 over in both: too little for a third.
    EXPECT_EQ(forecast_told(book, coming_each_day(9, "2026-10-13T07:00Z", "0.20")),
              "4 until 2026-10-16T07:00:00Z, then 2026-10-17T07:00:00Z, 0.08 over");
    // A smaller one finds what a larger one left in the first.
    auto doses = coming_each_day(5, "2026-10-13T07:00Z", "0.20");
    doses[2].ml = decimal("0.07");
    doses[4].ml = decimal("0.29");
    EXPECT_EQ(forecast_told(book, doses),
              "4 until 2026-10-16T07:00:00Z, then 2026-10-17T07:00:00Z, 0.29 over");
    doses[4].ml = decimal("0.28");
    EXPECT_EQ(forecast_told(book, doses), "5 until 2026-10-17T07:00:00Z, then none, 0 over");
}

TEST(ForecastTest, NothingIsCoveredBehindAGap) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z", "0.50")}, {});
    auto doses = coming_each_day(3, "2026-10-13T07:00Z", "0.10");
    doses[1].ml = decimal("0.60");
    EXPECT_EQ(forecast_told(book, doses),
              "1 until 2026-10-13T07:00:00Z, then 2026-10-14T07:00:00Z, 0.39 over");
}

TEST(ForecastTest, WithoutAUsableVialTheFirstDoseIsUncovered) {
    const auto doses = coming_each_day(3, "2026-11-09T08:00Z", "0.20");
    const std::string none = "0 until none, then 2026-11-09T08:00:00Z, none over";
    EXPECT_EQ(forecast_told({}, doses), none);
    // Its days in use end at the very instant at which the dose is due.
    EXPECT_EQ(forecast_told(follow({vial("V1", "2026-10-12T07:00Z")}, {}), doses), none);
    EXPECT_EQ(forecast_told(follow({printed(vial("V1", "2026-11-01T07:00Z"), "2026-11-08")}, {}), doses),
              none);
    EXPECT_EQ(forecast_told(follow({vial("V1", "2026-11-01T07:00Z", std::nullopt)}, {}), doses), none);
    EXPECT_EQ(forecast_told(follow({vial("V1", "2026-11-01T07:00Z", "0.209999")}, {}), doses), none);
    EXPECT_EQ(forecast_told(follow({vial("V1", "2026-11-01T07:00Z")}, {dose("V1", "2026-11-01T08:00Z", "3")}),
                            doses),
              none);
}

TEST(ForecastTest, VialCoversADoseDueJustBeforeItsEnd) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00:01Z")}, {});
    EXPECT_EQ(forecast_told(book, coming_each_day(2, "2026-11-09T08:00Z", "0.20")),
              "1 until 2026-11-09T08:00:00Z, then 2026-11-10T08:00:00Z, 2.79 over");
}

TEST(ForecastTest, EndOfALaterVialIsKeptWhileAnEarlierOneIsInUse) {
    const VialBook book = follow(
        {vial("V1", "2026-10-12T07:00Z", "0.25"), printed(vial("V2", "2026-10-13T07:00Z"), "2026-10-15")},
        {});
    // The first vial is kept for the last dose, the only one that it can cover.
    auto doses = coming_each_day(3, "2026-10-14T23:00Z", "0.30");
    doses[2].ml = decimal("0.20");
    EXPECT_EQ(forecast_told(book, doses),
              "1 until 2026-10-14T23:00:00Z, then 2026-10-15T23:00:00Z, 2.69 over");
}

TEST(ForecastTest, NoDosesToComeNeedNothing) {
    EXPECT_EQ(forecast_told(fortnight_book(), {}), "0 until none, then none, none over");
}

TEST(ForecastTest, EachMedicineComesFromItsOwnVialsWithItsOwnLoss) {
    OpenedVial other = vial("T1", "2026-10-12T07:00Z", "0.50");
    other.medicine = "tinzaparin-20000";
    const std::vector<VialRulesOf> rules{{"tinzaparin-20000", {14, DayCount::from_opening, decimal("0.05")}}};
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z"), other}, {}, rules);
    EXPECT_EQ(forecast_told(book, coming_each_day(9, "2026-10-13T07:00Z", "0.20", "tinzaparin-20000"), rules),
              "2 until 2026-10-14T07:00:00Z, then 2026-10-15T07:00:00Z, 0 over");
    EXPECT_EQ(forecast_told(book, coming_each_day(9, "2026-10-13T07:00Z", "0.20", "unheard-of"), rules),
              "0 until none, then 2026-10-13T07:00:00Z, none over");
}

TEST(ForecastTest, AgreesWithLookingAtEveryVialForEveryDose) {
    constexpr unsigned seed = 4711;
    SCOPED_TRACE("seed " + std::to_string(seed));
    Households households(seed);
    std::map<std::int64_t, int> lengths;
    for (int round = 0; round < 3000; ++round) {
        SCOPED_TRACE("round " + std::to_string(round));
        const VialBook book = follow(households.vials(),
                                     households.upto(1) == 0 ? households.doses() : std::vector<GivenDose>());
        std::vector<ComingDose> doses;
        for (const GivenDose& dose : households.doses())
            doses.push_back({dose.at, dose.medicine, dose.size.ml});
        const Forecast found = forecast(book, doses, {});
        ASSERT_EQ(told(found), forecast_plainly(book, doses));
        ++lengths[found.doses_left];
    }
    // The households are of many kinds.
    EXPECT_GT(lengths.size(), 20U);
}

}  // namespace
}  // namespace nightferry::care
