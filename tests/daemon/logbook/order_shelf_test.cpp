// What clinics listed, kept over restarts and as it was known at any time.
#include "daemon/logbook/order_shelf.hpp"

#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {
namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::ElementsAre;

class OrderShelfTest : public testing::Test {
 protected:
    void keep(std::vector<SeenOrder> orders, std::chrono::hours after, const std::string& failure = {}) {
        OrderShelf shelf(log_.db());
        ASSERT_TRUE(shelf.keep("north", {"juniper", std::move(orders), 2, failure}, test_now() + after));
        EXPECT_EQ(shelf.changes(), 1);
    }
    OrderHistory history(const std::string& clinic = "north", const std::string& person = "juniper") {
        return OrderShelf(log_.db()).history(clinic, person).value();
    }
    // "a active 20 mg from 0 to 24": hours after the first reading.
    std::vector<std::string> states() {
        const auto hours = [](Instant at) {
            return std::to_string(std::chrono::floor<std::chrono::hours>(at - test_now()).count());
        };
        std::vector<std::string> told;
        for (const ShelvedOrder& one : history().states)
            told.push_back(one.order.id + " " + one.order.status + " " + one.order.body + " from " +
                           hours(one.from) + (one.until ? " to " + hours(*one.until) : ""));
        return told;
    }

    OpenLogbook log_;
};

TEST_F(OrderShelfTest, EveryStateKeepsItsTime) {
    keep({{"a", "active", "18 mg"}, {"b", "active", "x"}}, 0h);
    keep({{"a", "active", "18 mg"}, {"b", "active", "x"}}, 24h);
    keep({{"a", "active", "20 mg"}, {"b", "stopped", ""}}, 48h);
    keep({{"a", "active", "20 mg"}}, 72h);
    EXPECT_THAT(states(), ElementsAre("a active 18 mg from 0 to 48", "b active x from 0 to 48",
                                      "a active 20 mg from 48", "b stopped x from 48"));
    EXPECT_THAT(history().active(), ElementsAre("a"));
    EXPECT_EQ(history().first_read, test_now());
    EXPECT_EQ(history().last_read, test_now() + 72h);
    EXPECT_EQ(history().others, 2);
}

TEST_F(OrderShelfTest, StoppedOrderThatComesBackIsANewState) {
    keep({{"a", "active", "x"}}, 0h);
    keep({{"a", "on-hold", ""}}, 24h);
    keep({}, 48h);
    keep({{"a", "active", "x"}}, 72h);
    EXPECT_THAT(states(),
                ElementsAre("a active x from 0 to 24", "a on-hold x from 24 to 72", "a active x from 72"));
}

TEST_F(OrderShelfTest, FailedReadingLeavesEverythingAsItWas) {
    keep({{"a", "active", "x"}}, 0h);
    keep({}, 24h, "HTTP 403");
    EXPECT_THAT(states(), ElementsAre("a active x from 0"));
    EXPECT_EQ(history().failure, "HTTP 403");
    EXPECT_EQ(history().last_read, test_now());
    keep({{"a", "active", "x"}}, 48h);
    EXPECT_EQ(history().failure, "");
}

TEST_F(OrderShelfTest, FailureBeforeTheFirstReadingIsNoReading) {
    keep({}, 0h, "no route");
    EXPECT_FALSE(history().first_read);
    EXPECT_EQ(history().failure, "no route");
    keep({}, 24h);
    EXPECT_EQ(history().first_read, test_now() + 24h);
}

TEST_F(OrderShelfTest, ItSurvivesARestartAndKeepsClinicsAndPersonsApart) {
    keep({{"a", "active", "x"}}, 0h);
    log_.reopen();
    EXPECT_THAT(states(), ElementsAre("a active x from 0"));
    EXPECT_TRUE(history("south").states.empty());
    EXPECT_TRUE(history("north", "rowan").states.empty());
}

}  // namespace
}  // namespace nightferry::logbook
