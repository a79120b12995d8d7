// Counting what goes to a clinic.
#include "daemon/door/traffic.hpp"

#include <gtest/gtest.h>

namespace nightferry::door {

namespace {

using Reached = sync::NoAnswer::Reached;

TEST(TrafficTest, RequestsAreCountedByOutcomeAndBytesWhereTheyMayHaveArrived) {
    Traffic traffic;
    traffic.count(100, HttpAnswer{200, {}, "12345"});
    traffic.count(10, HttpAnswer{201, {}, ""});
    traffic.count(10, HttpAnswer{412, {}, "1"});
    traffic.count(1, sync::NoAnswer{Reached::perhaps, {}});
    EXPECT_EQ(traffic.sent_bytes, 121);
    traffic.count(1000, sync::NoAnswer{Reached::no, {}});
    traffic.count(1000, sync::NoAnswer{Reached::untrusted, {}});
    EXPECT_EQ(traffic.sent_bytes, 121) << "these never left";
    EXPECT_EQ(traffic.received_bytes, 6);
    using testing::Pair;
    EXPECT_THAT(traffic.requests,
                testing::ElementsAre(Pair("2xx", 2), Pair("3xx", 0), Pair("4xx", 1), Pair("5xx", 0),
                                     Pair("no_answer", 1), Pair("unreachable", 1), Pair("untrusted", 1)));
}

}  // namespace

}  // namespace nightferry::door
