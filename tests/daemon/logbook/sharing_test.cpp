// When the logbook looks whether a clinic is owed entries that were recorded before.
#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;

class SharingTest : public testing::Test {
 protected:
    SharingTest() {
        // Before "north" was in the settings.
        log_.accept(a_weight("w1"), {});
        log_.accept(of_rowan("r1"), {});
    }
    static entry::Submission of_rowan(const std::string& label) {
        entry::Submission weight = a_weight(label);
        weight.entry->person = "rowan";
        return weight;
    }
    std::int64_t owe(const std::vector<std::string>& persons, const std::string& clinic = "north") {
        return log_.book().owe(clinic, persons, test_now()).value();
    }
    void share_only_with(const std::vector<std::string>& clinics) {
        ASSERT_TRUE(log_.book().share_only_with(clinics).has_value());
    }

    OpenLogbook log_;
};

TEST_F(SharingTest, ClinicIsOwedWhatWasRecordedBeforeItWasSetUp) {
    EXPECT_EQ(owe({"juniper"}), 1);
    EXPECT_EQ(log_.delivery("w1"), "waiting for 1");
    EXPECT_EQ(log_.delivery("r1"), "none");
}

// Each entry gets its deliveries as it is accepted, so there is nothing to look for.
TEST_F(SharingTest, ItLooksOnlyOnceForTheSamePersons) {
    owe({"juniper"});
    log_.accept(a_weight("w2"), {});
    EXPECT_EQ(owe({"juniper"}), 0);
    log_.reopen();
    EXPECT_EQ(owe({"juniper"}), 0) << "also after a restart";
    EXPECT_EQ(log_.delivery("w2"), "none");
}

TEST_F(SharingTest, ItLooksAgainWhenThePersonsChange) {
    owe({"juniper"});
    EXPECT_EQ(owe({"juniper", "rowan"}), 1);
    EXPECT_EQ(log_.delivery("r1"), "waiting for 1");
    log_.accept(of_rowan("r2"), {});
    EXPECT_EQ(owe({"juniper"}), 0) << "a person who left is owed nothing";
    EXPECT_EQ(owe({"juniper", "rowan"}), 1) << "and who comes back is owed what there was meanwhile";
}

TEST_F(SharingTest, EachClinicIsLookedAtByItself) {
    owe({"juniper"});
    EXPECT_EQ(owe({"juniper"}, "south"), 1);
}

TEST_F(SharingTest, ClinicThatComesBackIsOwedWhatWasRecordedMeanwhile) {
    owe({"juniper"});
    share_only_with({"south"});
    log_.accept(a_weight("w2"), {"south"});
    share_only_with({"north", "south"});
    EXPECT_EQ(owe({"juniper"}), 1);
    EXPECT_EQ(log_.delivery("w2"), "waiting for 1");
}

TEST_F(SharingTest, ClinicThatStaysIsNotLookedAtAgain) {
    owe({"juniper"});
    owe({"juniper"}, "south");
    share_only_with({"north"});
    log_.accept(a_weight("w2"), {});
    EXPECT_EQ(owe({"juniper"}), 0);
    EXPECT_EQ(owe({"juniper"}, "south"), 1);
}

}  // namespace

}  // namespace nightferry::logbook
