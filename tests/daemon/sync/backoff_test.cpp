// How long a failing clinic is left alone.
#include "daemon/sync/backoff.hpp"

#include <limits>

namespace nightferry::sync {

namespace {

using namespace std::chrono_literals;

// Draws a share of the span: 0 the smallest number, 1000 the largest.
class Draw final : public Random {
 public:
    explicit Draw(std::uint64_t permille) : permille_(permille) {}
    std::uint64_t below(std::uint64_t bound) override {
        return bound == 0 ? 0 : (bound - 1) * permille_ / 1000;
    }

 private:
    std::uint64_t permille_;
};

constexpr Policy policy{50, 2s, 30min};

std::chrono::microseconds drawn(int failures, std::uint64_t permille) {
    Draw random(permille);
    return backoff(failures, policy, random);
}

TEST(BackoffTest, LongestWaitDoublesFromTheFirstToTheCap) {
    EXPECT_EQ(drawn(1, 1000), 2s);
    EXPECT_EQ(drawn(2, 1000), 4s);
    EXPECT_EQ(drawn(3, 1000), 8s);
    EXPECT_EQ(drawn(10, 1000), 1024s);
    EXPECT_EQ(drawn(11, 1000), 30min);
    EXPECT_EQ(drawn(12, 1000), 30min);
}

TEST(BackoffTest, CountsOfYearsStayAtTheCap) {
    EXPECT_EQ(drawn(1'000'000, 1000), 30min);
    EXPECT_EQ(drawn(std::numeric_limits<int>::max(), 1000), 30min);
}

TEST(BackoffTest, NoFailureIsRetriedHot) {
    for (const int failures : {1, 2, 20})
        EXPECT_EQ(drawn(failures, 0), 100ms);
    EXPECT_EQ(drawn(1, 10), 100ms);
    EXPECT_EQ(drawn(1, 100), 200ms);
}

TEST(BackoffTest, DrawsFromTheWholeSpan) {
    for (const int failures : {1, 4, 30}) {
        const auto longest = drawn(failures, 1000);
        EXPECT_EQ(drawn(failures, 500), longest / 2);
        EXPECT_EQ(drawn(failures, 250), longest / 4);
        EXPECT_EQ(drawn(failures, 750), longest * 3 / 4);
    }
}

TEST(BackoffTest, CapBelowTheFirstSpanHoldsToo) {
    Draw random(1000);
    EXPECT_EQ(backoff(1, Policy{50, 2s, 1s}, random), 1s);
}

}  // namespace

}  // namespace nightferry::sync
