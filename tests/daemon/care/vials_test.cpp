// What was drawn from vials, beginning with those of the demo's fortnight. Numbers without a source of their
// own were worked out by hand.
#include "daemon/care/vials.hpp"

#include "tests/daemon/care/vial_shelf.hpp"

namespace nightferry::care {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

TEST(VialsTest, VialsOfTheFortnightAreAsWorkedOutByHand) {
    const VialBook book = fortnight_book();
    EXPECT_THAT(told(book), ElementsAre("V1: 15 draws, 2.7 + 0.15 + 0.15 mL, 270",
                                        "V2: 14 draws, 2.76 + 0.14 + 0.1 mL, 276",
                                        "V3: 9 draws, 1.8 + 0.09 + 1.11 mL, 180"));
    EXPECT_THAT(notes(book), IsEmpty());
}

// Nine millilitres came in, 7.26 were injected and 38 draws lost 0.01 each.
TEST(VialsTest, VolumeOfTheFortnightAddsUp) {
    Decimal left;
    Decimal taken;
    for (const VialState& vial : fortnight_book().vials) {
        left = add(left, vial.left_ml.value()).value();
        taken = add(taken, add(vial.injected_ml, vial.lost_ml).value()).value();
    }
    EXPECT_EQ(left, decimal("1.36"));
    EXPECT_EQ(taken, decimal("7.64"));
    EXPECT_EQ(subtract(decimal("9.00"), left), taken);
}

// The dose of 30 October in the evening was written down on 1 November at 09:00.
TEST(VialsTest, WhatIsLeftIsWhatWasKnownThen) {
    const auto left_in_third = [](std::string_view known_at) {
        return text(fortnight_book(instant(known_at)).vials.at(2).left_ml);
    };
    EXPECT_EQ(left_in_third("2026-11-01T08:59Z"), "1.53");
    EXPECT_EQ(left_in_third("2026-11-01T09:03Z"), "1.32");
}

TEST(VialsTest, FortnightSaysWhenItsVialsEnd) {
    Texts ends;
    for (const VialState& vial : fortnight_book().vials)
        ends.push_back(to_text(vial.discard_on) + " " + to_text(vial.usable_until));
    EXPECT_THAT(ends, ElementsAre("2026-11-09 2026-11-09T07:55:00Z", "2026-11-18 2026-11-18T07:52:00Z",
                                  "2026-11-25 2026-11-25T09:15:00Z"));
}

TEST(VialsTest, NoVialsMakeAnEmptyBook) {
    const VialBook book = follow({}, {dose(std::nullopt, "2026-10-12T07:00Z")});
    EXPECT_THAT(book.vials, IsEmpty());
    EXPECT_THAT(book.notes, IsEmpty());
}

TEST(VialsTest, LabelMeansTheLastVialThatBoreIt) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z"), vial("V1", "2026-10-21T07:00Z")},
                                 {dose("V1", "2026-10-12T07:00Z"), dose("V1", "2026-10-21T06:59:59Z"),
                                  dose("V1", "2026-10-21T07:00Z")});
    EXPECT_THAT(told(book), ElementsAre("V1: 2 draws, 0.36 + 0.02 + 2.62 mL, 36",
                                        "V1: 1 draws, 0.18 + 0.01 + 2.81 mL, 18"));
}

TEST(VialsTest, OfTwoOpenedAtOnceTheLaterInTheListIsTheLast) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z"), vial("V1", "2026-10-12T07:00Z", "1")},
                                 {dose("V1", "2026-10-12T07:00Z")});
    EXPECT_THAT(told(book),
                ElementsAre("V1: 0 draws, 0 + 0 + 3 mL, 0", "V1: 1 draws, 0.18 + 0.01 + 0.81 mL, 18"));
}

TEST(VialsTest, VialOfUnknownVolumeIsFollowedWithoutARest) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z", std::nullopt)},
                                 {dose("V1", "2026-10-12T07:00Z", "20"), dose("V1", "2026-10-12T19:00Z")});
    EXPECT_THAT(told(book), ElementsAre("V1: 2 draws, 20.18 + 0.02 + none mL, 2018"));
    EXPECT_THAT(notes(book), IsEmpty());
}

TEST(VialsTest, VialOpenedAfterTheLastDoseIsInTheBook) {
    OpenedVial opened = vial("V2", "2026-10-21T07:00Z");
    opened.lot = "LOT-7";
    const VialBook book =
        follow({vial("V1", "2026-10-12T07:00Z"), opened}, {dose("V1", "2026-10-12T07:00Z")});
    ASSERT_EQ(book.vials.size(), 2U);
    EXPECT_EQ(book.vials[1].label, "V2");
    EXPECT_EQ(book.vials[1].lot, "LOT-7");
    EXPECT_EQ(book.vials[1].opened_by, id("2026-10-21T07:00Z"));
    EXPECT_EQ(book.vials[1].left_ml, decimal("3"));
}

TEST(VialsTest, RulesAreThoseOfTheMedicineOfTheVial) {
    OpenedVial other = vial("T1", "2026-10-21T07:00Z", "2");
    other.medicine = "tinzaparin-20000";
    const VialRules fortnight_and_more{14, DayCount::from_opening, decimal("0.05")};
    const VialBook book =
        follow({vial("V1", "2026-10-21T07:00Z"), other},
               {dose("V1", "2026-10-21T07:00Z"), dose("T1", "2026-10-21T07:00Z", "0.4", "tinzaparin-20000")},
               {{"tinzaparin-20000", fortnight_and_more}});
    EXPECT_EQ(text(book.vials.at(0).left_ml), "2.81");
    EXPECT_EQ(text(book.vials.at(1).left_ml), "1.55");
    EXPECT_EQ(to_text(book.vials.at(0).discard_on), "2026-11-18");
    EXPECT_EQ(to_text(book.vials.at(1).discard_on), "2026-11-04");
}

TEST(VialsTest, DrawThatMakesASumTooLongIsNotedAndNotCounted) {
    std::vector<GivenDose> doses(3, dose("V1", "2026-10-12T07:00Z"));
    doses[1].size.content = decimal("999999999");
    for (const auto& volume : {std::optional<std::string_view>("3"), std::optional<std::string_view>()}) {
        const VialBook book = follow({vial("V1", "2026-10-12T07:00Z", volume)}, doses);
        EXPECT_THAT(notes(book), ElementsAre("overdrawn V1"));
        EXPECT_EQ(book.vials.at(0).draws, 2);
        EXPECT_EQ(text(book.vials.at(0).injected_ml), "0.36");
        EXPECT_EQ(text(book.vials.at(0).content_given), "36");
    }
}

TEST(VialsTest, VolumeOfEveryVialAddsUpWhateverIsDrawn) {
    constexpr unsigned seed = 797;
    SCOPED_TRACE("seed " + std::to_string(seed));
    Households households(seed);
    constexpr std::int64_t loss_ul = 10;
    for (int round = 0; round < 2000; ++round) {
        SCOPED_TRACE("round " + std::to_string(round));
        const auto vials = households.vials();
        const auto doses = households.doses();
        const VialBook book = follow(vials, doses);
        ASSERT_EQ(book.vials.size(), vials.size());
        std::vector<std::int64_t> draws(vials.size());
        std::vector<std::int64_t> injected(vials.size());
        std::map<VialConcern, std::size_t> noted;
        std::map<VialConcern, std::size_t> expected;
        for (const GivenDose& dose : doses) {
            const auto from = vial_of(dose, vials);
            const auto opens = [&](const OpenedVial& vial) {
                return vial.medicine == dose.medicine && vial.at <= dose.at;
            };
            if (!from) {
                if (dose.vial) ++expected[VialConcern::unknown];
                if (!dose.vial && std::ranges::any_of(vials, opens)) ++expected[VialConcern::not_named];
                continue;
            }
            const OpenedVial& vial = vials[*from];
            ++draws[*from];
            injected[*from] += microlitres(dose.size.ml);
            const std::int64_t taken = injected[*from] + loss_ul * draws[*from];
            if (vial.volume_ml && taken > microlitres(*vial.volume_ml)) ++expected[VialConcern::overdrawn];
            if (vial.medicine != dose.medicine) ++expected[VialConcern::other_medicine];
            if (dose.at >= end_of_use(vial.at, usual, zone("Europe/Dublin")))
                ++expected[VialConcern::after_in_use];
            if (vial.expires && dose.at >= *end_of_expiry(*vial.expires, zone("Europe/Dublin")))
                ++expected[VialConcern::after_expiry];
        }
        for (const VialNote& note : book.notes)
            ++noted[note.concern];
        ASSERT_EQ(noted, expected);
        for (std::size_t i = 0; i < vials.size(); ++i) {
            const VialState& state = book.vials[i];
            ASSERT_EQ(state.draws, draws[i]);
            ASSERT_EQ(microlitres(state.injected_ml), injected[i]);
            ASSERT_EQ(microlitres(state.lost_ml), loss_ul * draws[i]);
            ASSERT_EQ(state.left_ml.has_value(), vials[i].volume_ml.has_value());
            if (!state.left_ml) continue;
            const auto taken = add(state.injected_ml, state.lost_ml).value();
            ASSERT_EQ(add(taken, *state.left_ml), vials[i].volume_ml);
        }
    }
}

TEST(VialNotesTest, DoseNamesAVialThatWasOpenedBeforeIt) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z")},
                                 {dose("V1", "2026-10-12T06:59:59Z"), dose("V1", "2026-10-12T07:00Z"),
                                  dose("v1", "2026-10-12T19:00Z"), dose("V2", "2026-10-13T07:00Z")});
    EXPECT_THAT(notes(book), ElementsAre("unknown V1", "unknown v1", "unknown V2"));
    EXPECT_EQ(book.notes.at(0).dose, id("2026-10-12T06:59:59Z"));
    EXPECT_THAT(told(book), ElementsAre("V1: 1 draws, 0.18 + 0.01 + 2.81 mL, 18"));
}

TEST(VialNotesTest, DoseThatNamesNoVialIsNotedOnceOneOfItsMedicineIsOpen) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z")},
                                 {dose(std::nullopt, "2026-10-11T19:00Z"),
                                  dose(std::nullopt, "2026-10-12T07:00Z", "0.2", "dalteparin-25000"),
                                  dose(std::nullopt, "2026-10-12T07:00:01Z")});
    EXPECT_THAT(notes(book), ElementsAre("not named"));
    EXPECT_EQ(book.notes.at(0).dose, id("2026-10-12T07:00:01Z"));
    EXPECT_EQ(book.vials.at(0).draws, 0);
}

TEST(VialNotesTest, DoseOfAnotherStrengthTakesVolumeAndNoContent) {
    const VialBook book =
        follow({vial("V1", "2026-10-12T07:00Z")},
               {dose("V1", "2026-10-12T07:01Z"), dose("V1", "2026-10-12T19:00Z", "0.12", "enoxaparin-150")});
    EXPECT_THAT(notes(book), ElementsAre("other medicine V1"));
    EXPECT_THAT(told(book), ElementsAre("V1: 2 draws, 0.3 + 0.02 + 2.68 mL, 18"));
}

TEST(VialNotesTest, EndOfUseIsTheFirstInstantThatIsTooLate) {
    const OpenedVial opened = printed(vial("V1", "2026-10-12T07:00Z"), "2026-11-20");
    std::vector<GivenDose> doses{dose("V1", "2026-11-09T08:00Z"), dose("V1", "2026-11-09T08:00Z"),
                                 dose("V1", "2026-11-20T23:59:59Z"), dose("V1", "2026-11-21T00:00Z")};
    doses.front().at -= 1us;
    const VialBook book = follow({opened}, doses);
    EXPECT_THAT(notes(book),
                ElementsAre("after in use V1 2026-11-09T08:00:00Z", "after in use V1 2026-11-09T08:00:00Z",
                            "after in use V1 2026-11-09T08:00:00Z", "after expiry V1 2026-11-21T00:00:00Z"));
    EXPECT_EQ(book.vials.at(0).draws, 4);
    EXPECT_EQ(book.vials.at(0).draws_after_end, 3);
}

TEST(VialNotesTest, PrintedDateThatComesFirstIsNotedAlone) {
    const VialBook book = follow({printed(vial("V1", "2026-10-12T07:00Z"), "2026-10")},
                                 {dose("V1", "2026-10-31T23:59:59Z"), dose("V1", "2026-11-01T00:00Z")});
    EXPECT_THAT(notes(book), ElementsAre("after expiry V1 2026-11-01T00:00:00Z"));
    EXPECT_EQ(book.vials.at(0).draws_after_end, 1);
}

TEST(VialNotesTest, VialMayBeEmptiedToTheLastDropAndNoFurther) {
    const VialBook book = follow({vial("V1", "2026-10-12T07:00Z", "0.38")},
                                 {dose("V1", "2026-10-12T07:00Z"), dose("V1", "2026-10-12T19:00Z"),
                                  dose("V1", "2026-10-13T07:00Z"), dose("V1", "2026-10-13T19:00Z")});
    EXPECT_THAT(notes(book), ElementsAre("overdrawn V1", "overdrawn V1"));
    EXPECT_EQ(book.notes.at(0).dose, id("2026-10-13T07:00Z"));
    EXPECT_THAT(told(book), ElementsAre("V1: 4 draws, 0.72 + 0.04 + -0.38 mL, 72"));
}

TEST(VialNotesTest, LossOfTheLastDrawCountsToo) {
    const std::vector<OpenedVial> vials{vial("V1", "2026-10-12T07:00Z", "0.18")};
    const std::vector<GivenDose> doses{dose("V1", "2026-10-12T07:00Z")};
    EXPECT_THAT(notes(follow(vials, doses)), ElementsAre("overdrawn V1"));
    const VialRules without_loss{28, DayCount::from_opening, Decimal()};
    EXPECT_THAT(notes(follow(vials, doses, {{"enoxaparin-100", without_loss}})), IsEmpty());
}

TEST(VialNotesTest, DoseWithSeveralConcernsHasANoteForEach) {
    const VialBook book = follow({printed(vial("V1", "2026-10-12T07:00Z", "0.1"), "2026-10")},
                                 {dose("V1", "2026-12-12T07:00Z", "0.18", "enoxaparin-150")});
    EXPECT_THAT(notes(book), ElementsAre("other medicine V1", "after in use V1 2026-11-09T08:00:00Z",
                                         "after expiry V1 2026-11-01T00:00:00Z", "overdrawn V1"));
}

}  // namespace
}  // namespace nightferry::care
