#include "daemon/logbook/pins.hpp"

#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {
namespace {

using namespace test;
using Kind = Pin::Kind;

Result<void> hold(OpenLogbook& log, const Pin& pin, std::string* told = nullptr) {
    return hold_pins(log.db(), std::vector{pin}, [&](const std::string& line) {
        if (told != nullptr) *told = line;
    });
}

bool held(OpenLogbook& log, const Pin& pin) {
    return hold(log, pin).has_value();
}

TEST(PinsTest, WhatNothingDependsOnMayChange) {
    OpenLogbook log;
    for (const Kind kind : {Kind::hub, Kind::medicine, Kind::clinic}) {
        EXPECT_TRUE(held(log, {kind, "x", "before", ""}));
        EXPECT_TRUE(held(log, {kind, "x", "after", ""}));
    }
}

TEST(PinsTest, TheHubsNameStaysOnceAnEntryBearsIt) {
    OpenLogbook log;
    ASSERT_TRUE(held(log, {Kind::hub, "name", "home", ""}));
    log.accept(a_weight("w1"));
    EXPECT_TRUE(held(log, {Kind::hub, "name", "home", ""}));
    std::string told;
    const auto changed = hold(log, {Kind::hub, "name", "house", "hub.name"}, &told);
    ASSERT_FALSE(changed.has_value());
    EXPECT_EQ(changed.error().code, Errc::setup);
    EXPECT_EQ(
        changed.error().detail,
        "hub.name changed, and what is in the logbook rests on it; put it back, since entries bear the old "
        "one")
        << "the log names no home";
    EXPECT_EQ(
        told,
        "hub.name changed, and what is in the logbook rests on it: it was 'home' and is 'house' now; put it "
        "back, since entries bear the old one");
    EXPECT_TRUE(held(log, {Kind::hub, "name", "home", ""})) << "what was refused is not remembered";
}

TEST(PinsTest, AMedicineStaysOnceAnEntryNamesIt) {
    OpenLogbook log;
    const Pin before{Kind::medicine, "enoxaparin-100", "100 mg/mL enoxaparin", ""};
    const Pin other{Kind::medicine, "dalteparin-10000", "10000 IU/mL dalteparin", ""};
    ASSERT_TRUE(held(log, before) && held(log, other));
    log.accept(a_dose("d1"));
    EXPECT_FALSE(held(log, {Kind::medicine, "enoxaparin-100", "150 mg/mL enoxaparin", ""}));
    EXPECT_TRUE(held(log, {Kind::medicine, "dalteparin-10000", "25000 IU/mL dalteparin", ""}));
}

TEST(PinsTest, AClinicsAddressStaysOnceSomethingWasSentThere) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    ASSERT_TRUE(held(log, {Kind::clinic, "north", "https://a:443/fhir", ""}));
    EXPECT_TRUE(held(log, {Kind::clinic, "north", "https://b:443/fhir", ""}));
    ASSERT_TRUE(log.outbox().take("north", {.limit = 1}, test_now()).has_value());
    EXPECT_FALSE(held(log, {Kind::clinic, "north", "https://c:443/fhir", ""}));
}

}  // namespace
}  // namespace nightferry::logbook
