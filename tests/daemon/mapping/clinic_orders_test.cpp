// MedicationRequests in the household's terms: the published examples of all releases, and the timings of
// https://hl7.org/fhir/R4/datatypes-examples.html#Timing.
#include "daemon/mapping/clinic_orders.hpp"

#include <gtest/gtest.h>

#include "daemon/mapping/mapper.hpp"
#include "daemon/mapping/order_doses.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/support/household.hpp"
#include "tests/support/published_examples.hpp"

namespace nightferry::mapping {
namespace {

namespace json = fhir::json;
using care::Recognition;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

const entry::Household home = test::household();

care::ClinicOrder order_in(const std::string& text) {
    const auto document = json::read(text);
    EXPECT_TRUE(document) << text;
    const auto read = read_clinic_order(kept_order(document->root(), nullptr), home);
    EXPECT_TRUE(read) << text;
    return read.value_or(care::ClinicOrder());
}

care::ClinicOrder order(const std::string& members) {
    return order_in(R"({"resourceType":"MedicationRequest","id":"o1","status":"active","intent":"order",)" +
                    members + "}");
}

std::string code(const std::string& system, const std::string& value) {
    return R"("medicationCodeableConcept":{"coding":[{"system":")" + system + R"(","code":")" + value +
           R"("}]})";
}

care::OrderedDose dose(const std::string& members) {
    return order(R"("dosageInstruction":[{)" + members + "}]").doses.at(0);
}

std::string clock_words(const std::vector<std::chrono::minutes>& clocks) {
    std::string words;
    for (const auto clock : clocks)
        words += (words.empty() ? "" : " ") + std::to_string(clock.count());
    return words;
}

// "2 a day, 720 min apart", "at 480 1200", "not daily", "? why"
std::string times(const std::string& timing) {
    const care::OrderedDose read = dose(R"("timing":)" + timing);
    if (read.is_not_daily) return "not daily";
    if (!read.clocks.empty()) return "at " + clock_words(read.clocks);
    if (!read.a_day) return "? " + read.times_unclear;
    return std::to_string(*read.a_day) + " a day" +
           (read.apart ? ", " + std::to_string(read.apart->count()) + " min apart" : "");
}
std::string repeat(const std::string& members) {
    return times("{\"repeat\":{" + members + "}}");
}

// The table of https://hl7.org/fhir/R4/datatypes-examples.html#Timing, line by line.
TEST(OrderTimesTest, TimingsOfTheStandardsTable) {
    EXPECT_EQ(repeat(R"("frequency":1,"period":8,"periodUnit":"h")"), "3 a day, 480 min apart");
    EXPECT_EQ(repeat(R"("frequency":1,"period":7,"periodUnit":"d")"), "not daily");
    EXPECT_EQ(repeat(R"("frequency":3,"period":1,"periodUnit":"d")"), "3 a day");
    EXPECT_THAT(repeat(R"("frequency":3,"frequencyMax":4,"period":1,"periodUnit":"d")"),
                HasSubstr("leaves open"));
    EXPECT_THAT(repeat(R"("frequency":1,"period":4,"periodMax":6,"periodUnit":"h")"),
                HasSubstr("every 4 to 6 h, and leaves open"));
    EXPECT_EQ(repeat(R"("duration":1,"durationUnit":"h","frequency":1,"period":21,"periodUnit":"d")"),
              "not daily");
    EXPECT_EQ(repeat(R"("duration":0.5,"durationUnit":"h","frequency":3,"period":1,"periodUnit":"wk")"),
              "not daily");
    EXPECT_THAT(repeat(R"("when":["CM"])"), HasSubstr("CM, which are no clock times"));
    EXPECT_THAT(repeat(R"("duration":5,"durationUnit":"min","when":["AC"],"offset":10)"),
                HasSubstr("no clock times"));
    EXPECT_EQ(repeat(R"("frequency":3,"period":1,"periodUnit":"d","boundsDuration":{"value":14,"code":"d"})"),
              "3 a day");
    EXPECT_EQ(
        repeat(
            R"("frequency":2,"period":1,"periodUnit":"d","boundsPeriod":{"start":"2015-07-01T13:00:00Z"})"),
        "2 a day");
    EXPECT_THAT(
        repeat(
            R"("frequency":1,"period":1,"periodUnit":"d","dayOfWeek":["mon","wed","fri"],"when":["MORN"])"),
        HasSubstr("no clock times"));
    EXPECT_EQ(repeat(R"("frequency":1,"period":1,"periodUnit":"d","timeOfDay":["10:00:00"])"), "at 600");
    EXPECT_EQ(repeat(R"("count":1)"), "? the order tells no times");
    EXPECT_THAT(repeat(R"("frequency":1,"period":2,"periodUnit":"d","when":["MORN"],"count":20)"),
                HasSubstr("no clock times"));
}

TEST(OrderTimesTest, TwelveHoursAreTwiceADayButNotTheOtherWayRound) {
    EXPECT_EQ(repeat(R"("frequency":1,"period":12,"periodUnit":"h")"), "2 a day, 720 min apart");
    EXPECT_EQ(repeat(R"("frequency":1,"period":720.0,"periodUnit":"min")"), "2 a day, 720 min apart");
    EXPECT_EQ(repeat(R"("frequency":2,"period":1,"periodUnit":"d")"), "2 a day");
    EXPECT_EQ(repeat(R"("frequency":2,"period":24,"periodUnit":"h")"), "2 a day");
    EXPECT_EQ(repeat(R"("timeOfDay":["20:00:00","08:00:00"])"), "at 480 1200");
    EXPECT_EQ(repeat(R"("frequency":1,"period":5,"periodUnit":"h")"), "not daily");
    EXPECT_EQ(repeat(R"("frequency":1,"period":1,"periodUnit":"d")"), "1 a day");
    EXPECT_EQ(repeat(R"("dayOfWeek":["mon","thu"],"timeOfDay":["08:00:00"])"), "not daily");
}

TEST(OrderTimesTest, WhatDoesNotFitIsNotGuessed) {
    EXPECT_THAT(repeat(R"("frequency":3,"period":1,"periodUnit":"d","timeOfDay":["08:00:00"])"),
                HasSubstr("do not fit"));
    EXPECT_THAT(repeat(R"("timeOfDay":["08:00:00","08:00:00"])"), HasSubstr("do not fit"));
    EXPECT_THAT(repeat(R"("timeOfDay":["8 o'clock"])"), HasSubstr("cannot be read"));
    EXPECT_THAT(repeat(R"("frequency":2)"), HasSubstr("in which time it does not say"));
    EXPECT_THAT(repeat(R"("frequency":7,"period":1,"periodUnit":"wk")"),
                HasSubstr("no number of doses a day"));
    EXPECT_THAT(repeat(R"("frequency":1,"period":0,"periodUnit":"h")"),
                HasSubstr("no number of doses a day"));
    EXPECT_THAT(times(R"({"event":["2026-11-01"]})"), HasSubstr("single dates"));
    EXPECT_EQ(times("{}"), "? the order tells no times");
}

// CodeSystem v3-GTSAbbreviation of hl7.fhir.r4.examples: BID is "two times a day at institution specified
// time".
TEST(OrderTimesTest, AbbreviationsGiveNoClockTimes) {
    const auto abbreviated = [](const std::string& word) {
        return times(
            R"({"code":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/v3-GTSAbbreviation","code":")" +
            word + "\"}]}}");
    };
    EXPECT_EQ(abbreviated("BID"), "2 a day");
    EXPECT_EQ(abbreviated("QOD"), "not daily");
    EXPECT_THAT(abbreviated("JB"), HasSubstr("not known here"));
    EXPECT_THAT(times(R"({"code":{"text":"twice daily"}})"),
                HasSubstr("'twice daily', which is not known here"));
}

TEST(OrderAmountTest, OnlyUcumAmountsOfThisHubsUnitsAreCompared) {
    const auto amount = [](const std::string& quantity) {
        const care::OrderedDose read = dose(R"("doseAndRate":[{"doseQuantity":)" + quantity + "}]");
        return read.amount ? read.amount->value.to_string() + "/" +
                                 std::to_string(static_cast<int>(read.amount->unit))
                           : read.amount_unclear;
    };
    const auto ucum = [&](const std::string& unit) {
        return amount(R"({"value":18.0,"system":"http://unitsofmeasure.org","code":")" + unit + "\"}");
    };
    EXPECT_EQ(ucum("mg"), "18.0/1");
    EXPECT_EQ(ucum("mL"), "18.0/0");
    // The UCUM specification has [iU] and [IU] for one unit, and annotations in braces do not count.
    EXPECT_EQ(ucum("[iU]"), "18.0/2");
    EXPECT_EQ(ucum("[IU]{anti-Xa}"), "18.0/2");
    EXPECT_THAT(ucum("U"), HasSubstr("a unit that is not used here"));
    EXPECT_THAT(ucum("mg/kg"), HasSubstr("18.0 mg/kg, in a unit"));
    EXPECT_THAT(amount(R"({"value":18,"unit":"mg"})"), HasSubstr("without a UCUM code"));
    EXPECT_EQ(amount("{}"), "the order tells no amount in numbers");
    EXPECT_THAT(
        dose(R"("doseAndRate":[{"doseQuantity":{"value":1}},{"doseQuantity":{"value":2}}])").amount_unclear,
        HasSubstr("more than one amount"));
    EXPECT_THAT(dose(R"("doseAndRate":[{"rateQuantity":{"value":1}}])").amount_unclear, HasSubstr("a rate"));
}

// https://hl7.org/fhir/R4/datatypes.html#Period: an end of a day includes that day. In Dublin, summer time.
TEST(OrderPeriodTest, LastDayIsIncluded) {
    const auto day = stretch_of("2026-07-01", home.zone);
    ASSERT_TRUE(day);
    EXPECT_EQ(to_text(day->begin), "2026-06-30T23:00:00Z");
    EXPECT_EQ(to_text(day->end), "2026-07-01T23:00:00Z");
    EXPECT_EQ(to_text(stretch_of("2026-07", home.zone)->end), "2026-07-31T23:00:00Z");
    EXPECT_EQ(to_text(stretch_of("2026", home.zone)->end), "2027-01-01T00:00:00Z");
    EXPECT_EQ(to_text(stretch_of("2026-07-01T08:00:00+01:00", home.zone)->begin), "2026-07-01T07:00:00Z");
    for (const char* none : {"", "2026-13", "2026-02-30", "soon", "2026-07-01T08:00:00", "20260701"})
        EXPECT_FALSE(stretch_of(none, home.zone)) << none;
    EXPECT_THAT(dose(R"("timing":{"repeat":{"boundsDuration":{"value":14,"unit":"days"}}})").period_unclear,
                HasSubstr("14 days"));
}

// ATC B01AB05 and SNOMED CT 372562003: enoxaparin, as in mapping/codes.cpp.
TEST(OrderRecognitionTest, CodesRecogniseAndWordsAloneDoNot) {
    EXPECT_EQ(order(code("http://www.whocc.no/atc", "B01AB05")).recognition, Recognition::by_code);
    EXPECT_THAT(order(code("http://snomed.info/sct", "372562003")).medicines, ElementsAre("enoxaparin-100"));
    EXPECT_EQ(order(code("http://www.whocc.no/atc", "B01AB10")).recognition, Recognition::same_purpose)
        << "tinzaparin";
    EXPECT_EQ(order(code("http://www.whocc.no/atc", "N02BE01")).recognition, Recognition::other);
    EXPECT_EQ(order("\"note\":[]").recognition, Recognition::unnamed);
    const auto words = order(R"("medicationCodeableConcept":{"text":"Enoxaparin sodium 100 mg/mL"})");
    EXPECT_EQ(words.recognition, Recognition::by_words);
    EXPECT_THAT(words.medicines, ElementsAre("enoxaparin-100"));
    EXPECT_EQ(order(R"("medicationReference":{"reference":"Medication/7","display":"ENOXAPARIN vial"})")
                  .recognition,
              Recognition::by_words);
    EXPECT_EQ(order(R"("medicationCodeableConcept":{"text":"paracetamol"})").recognition, Recognition::other);
}

TEST(OrderRecognitionTest, CodesOfTheSettingsTellStrengthsApart) {
    entry::Household two = home;
    two.medicines.push_back({"enoxaparin-150", "enoxaparin", Decimal(150, 0), entry::Unit::milligram});
    two.medicines.back().codes = {{"urn:example:products", "E150"}};
    two.medicines.back().ordered_as = {"the strong one"};
    const auto read = [&](const std::string& medication) {
        return read_clinic_order(R"({"resourceType":"MedicationRequest",)" + medication + "}", two)
            ->medicines;
    };
    EXPECT_THAT(read(code("http://www.whocc.no/atc", "B01AB05")),
                ElementsAre("enoxaparin-100", "enoxaparin-150"));
    EXPECT_THAT(
        read(
            R"("medicationCodeableConcept":{"coding":[{"system":"http://www.whocc.no/atc","code":"B01AB05"},)"
            R"({"system":"urn:example:products","code":"E150"}]})"),
        ElementsAre("enoxaparin-150"));
    EXPECT_THAT(read(R"("medicationCodeableConcept":{"text":"The Strong One, vial"})"),
                ElementsAre("enoxaparin-150"));
}

TEST(OrderRecognitionTest, StrengthOfAContainedMedicationCounts) {
    const auto with_strength = [](const std::string& amount, const std::string& unit,
                                  const std::string& per) {
        return order(
            R"("contained":[{"resourceType":"Medication","id":"m","code":{"coding":[{"system":)"
            R"("http://www.whocc.no/atc","code":"B01AB05"}]},"ingredient":[{"strength":{"numerator":{"value":)" +
            amount + R"(,"system":"http://unitsofmeasure.org","code":")" + unit +
            R"("},"denominator":{"value":)" + per +
            R"(,"system":"http://unitsofmeasure.org","code":"mL"}}}]}],"medicationReference":{"reference":"#m"})");
    };
    EXPECT_EQ(with_strength("40", "mg", "0.4").strength->value, Decimal(100, 0));
    EXPECT_EQ(with_strength("40", "mg", "0.4").strength_words, "40 mg in 0.4 mL");
    EXPECT_FALSE(with_strength("1", "mg", "3").strength) << "no exact number";
    EXPECT_FALSE(with_strength("40", "g", "1").strength);
}

// Every order of the official packages is read; what this household has nothing to do with says so. Those of
// R4 that name an anticoagulant do so by codes of national or RxNorm systems that the settings would have to
// give.
TEST(PublishedOrdersTest, EveryPublishedOrderIsReadInEachRelease) {
    for (const auto release : fhir::spec::releases) {
        std::map<Recognition, int> told;
        const std::size_t count = test::for_each_example(
            release,
            [&](const test::Example& example) {
                if (json::read(example.text)->root().string_at("resourceType") != "MedicationRequest") return;
                const care::ClinicOrder read = order_in(example.text);
                ++told[read.recognition];
                for (const care::OrderedDose& one : read.doses) {
                    const bool has_times = !one.clocks.empty() || one.a_day || one.is_not_daily;
                    EXPECT_NE(has_times, !one.times_unclear.empty()) << example.name;
                    const bool has_amount = one.amount || one.least || one.most;
                    EXPECT_NE(has_amount, !one.amount_unclear.empty()) << example.name;
                }
            },
            "MedicationRequest-medrx");
        EXPECT_GE(count, 39U);
        EXPECT_EQ(told[Recognition::by_code] + told[Recognition::by_words] + told[Recognition::same_purpose],
                  0);
        EXPECT_GE(told[Recognition::other], 35);
    }
}

// medrx0305: as needed, every 6 to 12 hours, between dates; medrx0303: three steps with dates of their own;
// medrx0321: insulin tied to meals, steps with repeated numbers.
TEST(PublishedOrdersTest, WhatTheyLeaveOpenStaysOpen) {
    const care::ClinicOrder spaced =
        order_in(json::write(test::published(fhir::spec::Release::r4, "MedicationRequest-medrx0305").root()));
    EXPECT_TRUE(spaced.doses.at(0).as_needed);
    EXPECT_THAT(spaced.doses[0].times_unclear, HasSubstr("every 6 to 12 h"));
    EXPECT_EQ(to_text(*spaced.doses[0].until), "2015-01-21T00:00:00Z");
    EXPECT_THAT(spaced.doses[0].beyond, testing::Contains("additionalInstruction"));
    const care::ClinicOrder steps =
        order_in(json::write(test::published(fhir::spec::Release::r4, "MedicationRequest-medrx0303").root()));
    ASSERT_EQ(steps.doses.size(), 3U);
    EXPECT_EQ(steps.doses[1].sequence, "2");
    EXPECT_EQ(to_text(*steps.doses[1].from), "2015-01-23T00:00:00Z");
    const care::ClinicOrder meals =
        order_in(json::write(test::published(fhir::spec::Release::r5, "MedicationRequest-medrx0321").root()));
    EXPECT_THAT(meals.doses.at(0).times_unclear, HasSubstr("ACM"));
    EXPECT_EQ(meals.medicine_words, "Novolog 100u/ml");
}

// Only what is compared stays: nobody's name, no reason, no note.
TEST(KeptOrderTest, WhatIsNotComparedIsNotKept) {
    const auto whole = test::published(fhir::spec::Release::r4, "MedicationRequest-medrx0321");
    const std::string kept = kept_order(whole.root(), nullptr);
    for (const char* name : {"subject", "requester", "reasonCode", "reasonReference", "note", "encounter",
                             "dispenseRequest", "insurance", "narrative", "\"text\":{"})
        EXPECT_THAT(kept, Not(HasSubstr(name)));
    EXPECT_THAT(kept, HasSubstr("0169-7501-11"));
}

TEST(KeptOrderTest, MedicationThatWasReadStandsBesideIt) {
    const auto medication = json::read(
        R"({"resourceType":"Medication","id":"m7","manufacturer":{"display":"x"},"code":{"coding":[{"system":)"
        R"("http://www.whocc.no/atc","code":"B01AB05"}]}})");
    for (const char* reference : {R"("medicationReference":{"reference":"Medication/m7"})",
                                  R"("medication":{"reference":{"reference":"Medication/m7"}})"}) {
        const auto request =
            json::read(std::string(R"({"resourceType":"MedicationRequest","id":"o1",)") + reference + "}");
        const std::string kept = kept_order(request->root(), &medication->root());
        EXPECT_EQ(read_clinic_order(kept, home)->recognition, Recognition::by_code) << kept;
        EXPECT_THAT(kept, Not(HasSubstr("manufacturer")));
    }
}

// Which order a dose names: fhir-facts: intent `order`; of several in force at once, none.
TEST(OrderInForceTest, DoseNamesTheOneOrderOfItsMedicineAndTime) {
    const auto in_force_of = [](const std::string& id, const std::string& authored, const std::string& end) {
        care::ClinicOrder one = order(
            code("http://www.whocc.no/atc", "B01AB05") + R"(,"authoredOn":")" + authored +
            R"(","dosageInstruction":[{"timing":{"repeat":{"boundsPeriod":{"end":")" + end + R"("}}}}])");
        one.id = id;
        return *in_force(one, std::nullopt);
    };
    Mapper mapper(home, {"urn:example:test-home", {{"juniper", "Patient/p1"}}, {}, ""});
    entry::Version version;
    version.submission.recorded_by = "marlow";
    const auto reference_at = [&](std::chrono::hours before_now) {
        const Instant at = test::test_now() - before_now;
        version.content = {*EntryId::parse("11111111-1111-4111-8111-111111111111"),
                           "juniper",
                           {at, {}},
                           "marlow",
                           std::nullopt,
                           entry::DoseGiven{"enoxaparin-100", {Decimal(18, 2)}, {}, {}, {}}};
        return mapper.order_of(version.content);
    };
    using std::chrono::hours;
    EXPECT_EQ(reference_at(hours{0}), "");
    mapper.set_orders("juniper", {in_force_of("a", "2026-10-01", "2026-10-20"),
                                  in_force_of("b", "2026-10-21", "2026-11-30")});
    EXPECT_EQ(reference_at(hours{0}), "MedicationRequest/b");
    EXPECT_EQ(reference_at(hours{24 * 14}), "MedicationRequest/a");
    EXPECT_EQ(reference_at(hours{24 * 90}), "") << "before any";
    version.content.what = entry::DoseGiven{"dalteparin-10000", {Decimal(1, 1)}, {}, {}, {}};
    EXPECT_EQ(mapper.order_of(version.content), "");
    mapper.set_orders("juniper", {in_force_of("a", "2026-10-01", "2026-11-30"),
                                  in_force_of("b", "2026-10-21", "2026-11-30")});
    EXPECT_EQ(reference_at(hours{0}), "") << "two at once";
    json::Document resource;
    ASSERT_TRUE(mapper.put_resource(resource.root(), version, {{}, {}, "MedicationRequest/b"}));
    EXPECT_EQ(resource.root().find("request")->string_at("reference"), "MedicationRequest/b");
}

TEST(OrderInForceTest, NothingIsNamedThatIsNotSure) {
    const std::string atc = code("http://www.whocc.no/atc", "B01AB05");
    EXPECT_FALSE(in_force(order(atc), std::nullopt)) << "since when is not told";
    EXPECT_TRUE(in_force(order(atc + R"(,"authoredOn":"2026-10-01")"), std::nullopt));
    EXPECT_FALSE(in_force(order(atc + R"(,"authoredOn":"2026-10-01","doNotPerform":true)"), std::nullopt));
    EXPECT_FALSE(
        in_force(order(R"("authoredOn":"2026-10-01","medicationCodeableConcept":{"text":"enoxaparin"})"),
                 std::nullopt));
}

}  // namespace
}  // namespace nightferry::mapping
