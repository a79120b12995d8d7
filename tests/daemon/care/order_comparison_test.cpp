// What a clinic lists as ordered beside the fortnight's regimen: 0.20 mL of 100 mg/mL, which is 20 mg, at 8
// and 20 o'clock in Dublin since 21 October 2026. The differences were worked out by hand.
#include "daemon/care/order_comparison.hpp"

#include "daemon/care/order_proposal.hpp"
#include "tests/daemon/care/clinic_orders.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

const Instant now = instant("2026-11-20T12:00Z");

OrdersCompared compared(std::vector<ClinicOrder> orders, const Regimen& regimen = fortnight(),
                        Instant at = now) {
    return compare_orders(orders_read(std::move(orders)), regimen, household(), {}, at);
}

// "amount differs", in the order of the elements; the medicine, when it agrees, is left out.
std::vector<std::string> told(const OrdersCompared& all) {
    std::vector<std::string> words;
    for (const OrderComparison& one : all.comparisons) {
        if (one.standing != Standing::compared) words.emplace_back(word_for(one.standing));
        for (const ElementCheck& check : one.elements) {
            if (check.element != OrderElement::medicine)
                words.push_back(std::string(word_for(check.element)) + " " +
                                std::string(word_for(check.agreement)));
        }
    }
    if (all.missing) words.emplace_back("missing");
    if (all.may_be_missing) words.emplace_back("may be missing");
    return words;
}

std::string words_of(const OrdersCompared& all, OrderElement element) {
    std::string words;
    for (const ElementCheck& check : all.comparisons.at(0).elements) {
        if (check.element == element) words += (words.empty() ? "" : " / ") + check.words;
    }
    return words;
}

ClinicOrder with(const std::function<void(ClinicOrder&)>& change) {
    ClinicOrder order = clinic_order();
    change(order);
    return order;
}
ClinicOrder with_dose(const std::function<void(OrderedDose&)>& change) {
    return with([&](ClinicOrder& order) { change(order.doses[0]); });
}
// Without times of day.
ClinicOrder often(int a_day, std::optional<std::chrono::minutes> apart = {}) {
    return with_dose([&](OrderedDose& dose) {
        dose.clocks.clear();
        dose.a_day = a_day;
        dose.apart = apart;
        dose.times_words = "so often";
    });
}

TEST(OrderComparisonTest, SameOrderAgreesInEveryElement) {
    const OrdersCompared all = compared({clinic_order()});
    EXPECT_THAT(told(all), ElementsAre("strength agrees", "times agrees", "amount agrees"));
    EXPECT_TRUE(all.comparisons[0].is(Agreement::agrees));
}

TEST(OrderComparisonTest, AmountsAreComparedByWhatTheyContain) {
    EXPECT_THAT(told(compared({clinic_order("20.4")})), testing::Contains("amount agrees"))
        << "below half a mark";
    const OrdersCompared all = compared({clinic_order("18")});
    EXPECT_THAT(told(all), ElementsAre("strength agrees", "times agrees", "amount differs"));
    EXPECT_EQ(
        words_of(all, OrderElement::amount),
        "at 08:00 the order says 18 mg, the regimen has 0.20 mL (20 mg); at 20:00 the order says 18 mg, the "
        "regimen has 0.20 mL (20 mg)");
    const auto in_ml = with_dose([](OrderedDose& dose) {
        dose.amount = {Decimal(20, 2), entry::Unit::millilitre};
    });
    EXPECT_THAT(told(compared({in_ml})), testing::Contains("amount agrees"));
    const auto in_units = with_dose([](OrderedDose& dose) {
        dose.amount = {Decimal(2000, 0), entry::Unit::international_unit};
    });
    EXPECT_THAT(words_of(compared({in_units}), OrderElement::amount), HasSubstr("nothing is converted"));
}

TEST(OrderComparisonTest, RangeIsADifferenceOnlyWhereItExcludesTheRegimen) {
    const auto between = [](int least, int most) {
        return with_dose([&](OrderedDose& dose) {
            dose.amount.reset();
            dose.least = {Decimal(least, 0), entry::Unit::milligram};
            dose.most = {Decimal(most, 0), entry::Unit::milligram};
        });
    };
    EXPECT_THAT(told(compared({between(15, 25)})), testing::Contains("amount not_comparable"));
    EXPECT_THAT(told(compared({between(21, 25)})), testing::Contains("amount differs"));
    EXPECT_THAT(told(compared({between(10, 19)})), testing::Contains("amount differs"));
}

TEST(OrderComparisonTest, MillilitresOfAnotherStrengthAreNotCompared) {
    const auto stronger = with([](ClinicOrder& order) {
        order.strength = entry::Amount{Decimal(150, 0), entry::Unit::milligram};
        order.doses[0].amount = {Decimal(20, 2), entry::Unit::millilitre};
    });
    EXPECT_THAT(told(compared({stronger})),
                ElementsAre("strength differs", "times agrees", "amount not_comparable"));
    const auto untold = with([](ClinicOrder& order) { order.strength.reset(); });
    EXPECT_THAT(told(compared({untold})), testing::Contains("strength not_comparable"));
    EXPECT_FALSE(compared({untold}).comparisons[0].is(Agreement::agrees)) << "never shown as agreement";
}

TEST(OrderComparisonTest, TimesOfDayAndHowOften) {
    const auto at = [](std::vector<std::chrono::minutes> clocks) {
        return with_dose([&](OrderedDose& dose) { dose.clocks = std::move(clocks); });
    };
    const OrdersCompared later = compared({at({9h, 21h})});
    EXPECT_THAT(told(later), ElementsAre("strength agrees", "times differs", "amount not_comparable"));
    EXPECT_EQ(words_of(later, OrderElement::times),
              "the order says at 09:00 and 21:00, the regimen has 08:00 and 20:00");
    EXPECT_THAT(told(compared({at({8h})})), testing::Contains("times differs"));
    EXPECT_THAT(told(compared({often(2)})), ElementsAre("strength agrees", "times agrees", "amount agrees"));
    EXPECT_THAT(words_of(compared({often(2)}), OrderElement::times),
                HasSubstr("leaves the times of day open"));
    EXPECT_THAT(told(compared({often(2, 12h)})), testing::Contains("times agrees"));
    EXPECT_THAT(told(compared({often(3)})), testing::Contains("times differs"));
    Regimen uneven = fortnight();
    uneven.orders[1].doses[1].clock = 21h;
    EXPECT_THAT(told(compared({often(2, 12h)}, uneven)), testing::Contains("times differs"))
        << "13 and 11 hours apart";
    EXPECT_THAT(told(compared({with_dose([](OrderedDose& dose) {
                    dose.clocks.clear();
                    dose.is_not_daily = true;
                })})),
                testing::Contains("times differs"));
    EXPECT_THAT(told(compared({with_dose([](OrderedDose& dose) {
                    dose.clocks.clear();
                    dose.times_unclear = "why";
                })})),
                testing::Contains("times not_comparable"));
}

TEST(OrderComparisonTest, WhatElseAnOrderSays) {
    EXPECT_THAT(told(compared({with_dose([](OrderedDose& dose) { dose.as_needed = true; })})),
                testing::Contains("as_needed differs"));
    EXPECT_THAT(told(compared({with_dose([](OrderedDose& dose) { dose.beyond = {"maxDosePerPeriod"}; })})),
                testing::Contains("instructions not_comparable"));
    EXPECT_THAT(told(compared({with_dose([](OrderedDose& dose) { dose.route_unclear = "oral"; })})),
                testing::Contains("route not_comparable"));
    EXPECT_THAT(told(compared({with([](ClinicOrder& order) { order.is_prohibition = true; })})),
                ElementsAre("instructions differs"));
    EXPECT_THAT(told(compared({with([](ClinicOrder& order) { order.has_unknown_modifier = true; })})),
                ElementsAre("amount not_comparable", "times not_comparable"));
    EXPECT_THAT(told(compared({with([](ClinicOrder& order) { order.doses.clear(); })})),
                ElementsAre("strength agrees", "amount not_comparable", "times not_comparable"));
}

TEST(OrderComparisonTest, PeriodsAreHeldAgainstTheRegimensEnd) {
    const auto until = [](const char* end) {
        return with_dose([&](OrderedDose& dose) { dose.until = instant(end); });
    };
    EXPECT_THAT(told(compared({until("2026-12-01T00:00Z")})), testing::Contains("period differs"));
    Regimen ending = fortnight();
    ending.end = instant("2026-12-01T08:00Z");
    EXPECT_THAT(told(compared({until("2026-12-01T00:00Z")}, ending)), testing::Contains("period agrees"));
    EXPECT_THAT(told(compared({until("2026-12-24T00:00Z")}, ending)), testing::Contains("period differs"));
    // Over by its own dates, and still listed as active.
    EXPECT_THAT(told(compared({until("2026-11-01T00:00Z")})),
                ElementsAre("strength agrees", "period differs"));
}

TEST(OrderComparisonTest, OrderOfTheFutureIsHeldAgainstTheRegimenOfThen) {
    const auto coming = [](const char* mg) {
        ClinicOrder order = clinic_order(mg);
        order.doses[0].from = instant("2026-10-21T19:00Z");
        return order;
    };
    const Instant before =
        instant("2026-10-20T12:00Z");  // The regimen has 18 mg then, and 20 mg from the 21st on.
    EXPECT_THAT(told(compared({coming("20")}, fortnight(), before)), testing::Contains("amount agrees"));
    EXPECT_THAT(told(compared({coming("18")}, fortnight(), before)), testing::Contains("amount differs"));
}

TEST(OrderComparisonTest, PartsThatTellTheirTimesAreOneOrder) {
    ClinicOrder morning = clinic_order();
    morning.doses = {ordered_dose("20", {8h})};
    ClinicOrder evening = clinic_order("20", "o2");
    evening.doses = {ordered_dose("18", {20h})};
    const OrdersCompared all = compared({morning, evening});
    ASSERT_EQ(all.comparisons.size(), 1U);
    EXPECT_THAT(all.comparisons[0].orders, ElementsAre(0U, 1U));
    EXPECT_EQ(words_of(all, OrderElement::amount),
              "at 20:00 the order says 18 mg, the regimen has 0.20 mL (20 mg)");
    EXPECT_THAT(told(all), testing::Contains("times agrees"));
    EXPECT_THAT(told(compared({often(1), often(1)})), testing::Contains("amount not_comparable"))
        << "without times";
}

TEST(OrderComparisonTest, StepsAreTakenApartByTheirDatesOnly) {
    ClinicOrder steps = clinic_order("15");
    steps.doses.push_back(ordered_dose("20", {8h, 20h}));
    steps.doses[0].sequence = "1";
    steps.doses[1].sequence = "2";
    EXPECT_THAT(told(compared({steps})), testing::Contains("amount not_comparable"));
    steps.doses[0].until = instant("2026-11-01T00:00Z");
    steps.doses[1].from = instant("2026-11-01T00:00Z");
    EXPECT_THAT(told(compared({steps})), ElementsAre("strength agrees", "times agrees", "amount agrees"));
}

TEST(OrderComparisonTest, WordsAloneCouldBeIt) {
    const auto by_words = with([](ClinicOrder& order) { order.recognition = Recognition::by_words; });
    EXPECT_THAT(told(compared({by_words})), ElementsAre("could_be", "may be missing"));
    const auto unnamed = with([](ClinicOrder& order) {
        order.recognition = Recognition::unnamed;
        order.medicines.clear();
    });
    EXPECT_THAT(told(compared({unnamed})), ElementsAre("unnamed", "may be missing"));
}

TEST(OrderComparisonTest, OrdersThatTheRegimenDoesNotHave) {
    ClinicOrder other = clinic_order("20", "o2");
    other.medicines = {"dalteparin-10000"};
    EXPECT_THAT(told(compared({clinic_order(), other})),
                ElementsAre("strength agrees", "times agrees", "amount agrees", "not_in_regimen"));
    other.recognition = Recognition::same_purpose;
    other.medicines.clear();
    EXPECT_THAT(told(compared({other})), ElementsAre("not_in_regimen", "missing"));
    Regimen over = fortnight();
    over.end = instant("2026-11-02T00:00Z");
    EXPECT_THAT(told(compared({clinic_order()}, over)), ElementsAre("not_in_regimen"));
    EXPECT_THAT(told(compared({clinic_order()}, Regimen())), ElementsAre("not_in_regimen"));
}

TEST(OrderComparisonTest, MissingOrderSaysWhatBecameOfIt) {
    EXPECT_EQ(compared({}).missing->words,
              "The regimen has enoxaparin-100, but north lists no active order of it");
    const auto stopped = with([](ClinicOrder& order) {
        order.status = "stopped";
        order.seen = instant("2026-11-10T02:00Z");
    });
    const OrdersCompared all = compared({stopped});
    EXPECT_THAT(all.missing->words,
                HasSubstr("the one read before, MedicationRequest/o1, is 'stopped' there"));
    EXPECT_EQ(to_text(all.missing->since), "2026-11-10T02:00:00Z");
    EXPECT_THAT(compared({with([](ClinicOrder& order) { order.status = "not found"; })}).missing->words,
                HasSubstr("is no longer there"));
    OrdersRead never = orders_read({});
    never.first_read.reset();
    never.last_read.reset();
    EXPECT_THAT(told(compare_orders(never, fortnight(), household(), {}, now)), IsEmpty())
        << "nothing was read yet";
}

std::string proposal(std::vector<ClinicOrder> orders, bool has_regimen = false) {
    const std::vector read{orders_read(std::move(orders))};
    return proposed_regimen("juniper", read, household(), has_regimen);
}

TEST(OrderProposalTest, OnlyWhatIsCertainIsFilledIn) {
    const std::string text = proposal({clinic_order()});
    EXPECT_THAT(text, HasSubstr("[[regimen]]\nperson = \"juniper\"\n"));
    EXPECT_THAT(text, HasSubstr("\nmedicine = \"enoxaparin-100\"\n"));
    EXPECT_THAT(text, HasSubstr("\ndoses = \"08:00 20 mg, 20:00 20 mg\"\n"));
    EXPECT_THAT(text, HasSubstr("\n#from = \"YYYY-MM-DDTHH:MM\"  # DECIDE: "));
    EXPECT_THAT(text, HasSubstr("Nothing was written to the settings"));
    EXPECT_THAT(proposal({often(2)}), HasSubstr("\n#doses = "));
    EXPECT_THAT(proposal({with([](ClinicOrder& order) {
                    order.medicines = {"a", "b"};
                })}),
                HasSubstr("#medicine = \"…\"  # DECIDE: which [[medicine]] it is; it could be a or b"));
    EXPECT_THAT(proposal({clinic_order()}, true), HasSubstr("have a [[regimen]] of this person"));
}

TEST(OrderProposalTest, NothingOfAnOrdersWordsCanBecomeASetting) {
    const auto hostile = with_dose([](OrderedDose& dose) { dose.text = "twice\n[hub]\nname = \"x\""; });
    EXPECT_THAT(proposal({hostile}), Not(HasSubstr("\n[hub]")));
    const auto words = with_dose([](OrderedDose& dose) { dose.amount_words = "20\n[hub]"; });
    EXPECT_THAT(proposal({words}), Not(HasSubstr("\n[hub]")));
    EXPECT_THAT(proposal({with([](ClinicOrder& order) { order.is_prohibition = true; })}),
                Not(HasSubstr("\n[[regimen.order]]")));
    EXPECT_THAT(proposal({}), HasSubstr("nothing is proposed"));
}

}  // namespace
}  // namespace nightferry::care
