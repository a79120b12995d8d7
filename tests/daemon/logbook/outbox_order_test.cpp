// Which deliveries are taken: the longest-waiting, and some of the newest, so that today is not behind a
// backlog.
#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::ElementsAre;

class OutboxOrderTest : public testing::Test {
 protected:
    void accept(std::initializer_list<const char*> labels) {
        for (const char* label : labels)
            log_.accept(a_weight(label));
    }
    // The labels of what is taken.
    std::vector<std::string> take(std::size_t limit, std::size_t fresh,
                                  const std::vector<std::string>& without = {}) {
        std::vector<std::string> labels;
        for (const Parcel& one : log_.outbox().take("north", {limit, fresh, without}, test_now()).value()) {
            for (const std::string label : {"w1", "w2", "w3", "w4", "w5", "w6", "r1", "r2"}) {
                if (one.id == id_of(label)) labels.push_back(label);
            }
        }
        return labels;
    }
    void send_to_the_back(const std::string& label) {
        Settlement back = again(label);
        back.to_the_back = true;
        log_.settle(back);
    }

    OpenLogbook log_;
};

TEST_F(OutboxOrderTest, SomeOfTheNewestGoWithTheLongestWaiting) {
    accept({"w1", "w2", "w3", "w4", "w5", "w6"});
    EXPECT_THAT(take(4, 2), ElementsAre("w1", "w2", "w5", "w6"));
    EXPECT_THAT(take(4, 2), ElementsAre("w3", "w4"));
}

TEST_F(OutboxOrderTest, WhatIsBothIsTakenOnce) {
    accept({"w1", "w2", "w3"});
    EXPECT_THAT(take(4, 2), ElementsAre("w1", "w2", "w3"));
}

TEST_F(OutboxOrderTest, OneAtATimeMayBeTheNewestOrTheOldest) {
    accept({"w1", "w2", "w3"});
    EXPECT_THAT(take(1, 1), ElementsAre("w3"));
    EXPECT_THAT(take(1, 0), ElementsAre("w1"));
}

TEST_F(OutboxOrderTest, TheyComeInTheOrderInWhichTheyWait) {
    accept({"w6", "w1", "w5", "w2"});
    EXPECT_THAT(take(3, 2), ElementsAre("w6", "w5", "w2"));
}

// What went to the back stands behind the newest, and is not new.
TEST_F(OutboxOrderTest, WhatWentToTheBackIsNeverFresh) {
    accept({"w1", "w2", "w3", "w4"});
    EXPECT_THAT(take(1, 1), ElementsAre("w4"));
    send_to_the_back("w4");
    EXPECT_THAT(take(2, 1), ElementsAre("w1", "w3"));
    EXPECT_THAT(take(2, 2), ElementsAre("w2", "w4")) << "one of them as the longest-waiting";
}

TEST_F(OutboxOrderTest, WhereEverythingWentToTheBackOnlyTheLongestWaitingAreTaken) {
    accept({"w1", "w2"});
    take(2, 0);
    send_to_the_back("w2");
    send_to_the_back("w1");
    EXPECT_THAT(take(1, 1), ElementsAre("w2"));
}

TEST_F(OutboxOrderTest, LaterRevisionMakesItFreshAgain) {
    accept({"w1", "w2", "w3"});
    take(1, 1);
    send_to_the_back("w3");
    log_.accept(amended(a_weight("w3", "19"), "2026-10-12T09:00"));
    EXPECT_THAT(take(1, 1), ElementsAre("w3"));
}

TEST_F(OutboxOrderTest, WhatAPersonReleasesIsFreshAgain) {
    accept({"w1", "w2", "w3"});
    take(1, 1);
    send_to_the_back("w3");
    take(3, 0);
    log_.settle(refused("w3"));
    log_.settle(again("w1"));
    ASSERT_EQ(log_.outbox().release("north", id_of("w3"), test_now()).value(), 1);
    EXPECT_THAT(take(1, 1), ElementsAre("w3"));
}

TEST_F(OutboxOrderTest, PersonsLeftOutAreNotFreshEither) {
    accept({"w1", "w2", "w3"});
    entry::Submission newest = a_weight("r1");
    newest.entry->person = "rowan";
    log_.accept(newest);
    EXPECT_THAT(take(2, 1, {"rowan"}), ElementsAre("w1", "w3"));
    EXPECT_THAT(take(1, 1), ElementsAre("r1"));
}

}  // namespace

}  // namespace nightferry::logbook
