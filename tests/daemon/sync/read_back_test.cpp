// Which confirmed deliveries are read back, and what it means when one is missing.
#include "daemon/sync/read_back.hpp"

#include <limits>

namespace nightferry::sync {

namespace {

// Draws what a test wants to be drawn.
class ChosenDraw final : public Random {
 public:
    std::uint64_t next = 0;
    std::uint64_t bound = 0;  // Of the last draw.
    std::uint64_t below(std::uint64_t wanted) override {
        bound = wanted;
        return next;
    }
};

class ReadBackTest : public testing::Test {
 protected:
    ReadBackTest() { read_back_.restart(0); }

    std::int64_t next_below() { return read_back_.next(draw_).below; }
    std::size_t next_limit() { return read_back_.next(draw_).limit; }
    // Each was written after every earlier one had its receipt, as in single requests that are answered.
    void present(std::initializer_list<std::int64_t> numbers) {
        for (const std::int64_t number : numbers)
            read_back_.present(number, number - 1);
    }

    ChosenDraw draw_;
    ReadBack read_back_;
};

TEST_F(ReadBackTest, NothingIsReadBeforeAPassStartsIt) {
    EXPECT_TRUE(ReadBack().is_over());
    EXPECT_FALSE(read_back_.is_over());
}

TEST_F(ReadBackTest, WalkBeginsAtTheNewestAndGoesDown) {
    EXPECT_EQ(next_below(), std::numeric_limits<std::int64_t>::max());
    EXPECT_EQ(next_limit(), 3u);
    present({9});
    EXPECT_EQ(next_below(), 9);
    present({8});
    EXPECT_EQ(next_below(), 8);
}

TEST_F(ReadBackTest, ThreeInARowThatProveTheRestEndTheWalk) {
    present({9, 8});
    EXPECT_TRUE(read_back_.is_walking()) << "a request that came late may have put two there";
    present({7});
    EXPECT_TRUE(read_back_.is_over());
}

// All of a bundle were written when none of them had its receipt yet.
TEST_F(ReadBackTest, WalkGoesOnUntilSomethingWasWrittenAfterEverythingBelow) {
    for (const std::int64_t number : {9, 8, 7, 6})
        read_back_.present(number, 4);
    EXPECT_TRUE(read_back_.is_walking()) << "number 5 is not proven";
    read_back_.present(5, 4);
    EXPECT_TRUE(read_back_.is_over());
}

TEST_F(ReadBackTest, LaterProofCountsForWhatLiesBelowIt) {
    read_back_.present(9, 8);
    read_back_.present(8, 0);
    read_back_.present(7, 0);
    EXPECT_TRUE(read_back_.is_over());
}

TEST_F(ReadBackTest, WhatMayHaveBeenWrittenAtAnyTimeProvesNothing) {
    for (const std::int64_t number : {9, 8, 7, 6, 5})
        read_back_.present(number, 0);
    EXPECT_TRUE(read_back_.is_walking());
    read_back_.none_left();
    EXPECT_TRUE(read_back_.is_over());
}

TEST_F(ReadBackTest, MissingOneBreaksTheRow) {
    present({9, 8});
    read_back_.missing(7);
    EXPECT_EQ(next_below(), 7);
    present({6, 5});
    EXPECT_TRUE(read_back_.is_walking());
    present({4});
    EXPECT_TRUE(read_back_.is_over());
}

TEST_F(ReadBackTest, WhatIsMissingAboveTheProofWasLost) {
    read_back_.missing(9);
    read_back_.missing(8);
    EXPECT_FALSE(read_back_.was_lost(9)) << "before the end of the walk nobody can tell";
    present({7, 6, 5});
    ASSERT_TRUE(read_back_.is_over());
    EXPECT_TRUE(read_back_.was_lost(9));
    EXPECT_FALSE(read_back_.was_lost(6));
    EXPECT_FALSE(read_back_.was_lost(1)) << "missing there, it was deleted by somebody";
}

TEST_F(ReadBackTest, WhenEverythingIsMissingAllOfItWasLost) {
    for (const std::int64_t number : {3, 2, 1})
        read_back_.missing(number);
    read_back_.none_left();
    EXPECT_TRUE(read_back_.is_over());
    EXPECT_TRUE(read_back_.was_lost(1));
}

TEST_F(ReadBackTest, WithoutAWalkNothingWasLost) {
    EXPECT_FALSE(ReadBack().was_lost(5));
    present({9, 8, 7});
    read_back_.restart(0);
    EXPECT_FALSE(read_back_.was_lost(9)) << "the clinic may be another since";
}

TEST_F(ReadBackTest, SamplesAreDrawnFromAllThatHaveANumber) {
    read_back_.restart(2);
    present({9, 8, 7});
    ASSERT_FALSE(read_back_.is_over());
    EXPECT_FALSE(read_back_.is_walking());
    draw_.next = 0;
    EXPECT_EQ(next_below(), 1) << "none is below it";
    draw_.next = 8;
    EXPECT_EQ(next_below(), 9);
    EXPECT_EQ(next_limit(), 1u);
    EXPECT_EQ(draw_.bound, 9u);
}

TEST_F(ReadBackTest, AsManySamplesAreDrawnAsWereWanted) {
    read_back_.restart(3);
    present({9, 8, 7});
    present({4});
    read_back_.missing(3);
    EXPECT_FALSE(read_back_.is_over());
    read_back_.none_left();
    EXPECT_TRUE(read_back_.is_over());
}

TEST_F(ReadBackTest, NothingIsSampledWhereNothingWasConfirmed) {
    read_back_.restart(2);
    read_back_.none_left();
    EXPECT_TRUE(read_back_.is_over());
}

TEST_F(ReadBackTest, SampleThatIsMissingDoesNotChangeWhatIsProven) {
    read_back_.restart(1);
    present({9, 8, 7});
    read_back_.missing(4);
    EXPECT_FALSE(read_back_.was_lost(4));
}

TEST_F(ReadBackTest, ClinicThatNeverAnswersIsGivenUpAfterFiveTimes) {
    for (int times = 1; times < 5; ++times) {
        EXPECT_FALSE(read_back_.note_no_answer(9));
        read_back_.restart(0);
    }
    EXPECT_TRUE(read_back_.note_no_answer(9))
        << "a failure starts the walk anew, and is counted all the same";
    EXPECT_TRUE(read_back_.is_over());
}

TEST_F(ReadBackTest, OneThatIsNeverAnsweredIsPassedOverWhereOthersAre) {
    present({9});
    for (int times = 1; times < 5; ++times)
        EXPECT_FALSE(read_back_.note_no_answer(8));
    EXPECT_TRUE(read_back_.note_no_answer(8));
    EXPECT_TRUE(read_back_.is_walking()) << "what is below it is read all the same";
    EXPECT_EQ(next_below(), 8);
}

TEST_F(ReadBackTest, SeveralThatAreNeverAnsweredAreAllPassedOver) {
    present({9});
    for (int times = 1; times < 5; ++times) {
        EXPECT_FALSE(read_back_.note_no_answer(8));
        EXPECT_FALSE(read_back_.note_no_answer(7));
        read_back_.restart(0);
    }
    EXPECT_TRUE(read_back_.note_no_answer(8));
    EXPECT_TRUE(read_back_.note_no_answer(7));
    read_back_.restart(0);
    EXPECT_TRUE(read_back_.note_no_answer(8)) << "from then on at once";
}

// Each of a long row would be asked for five times.
TEST_F(ReadBackTest, ThreeInARowThatAreNeverAnsweredEndTheWalk) {
    const auto pass_over = [&](std::int64_t number) {
        while (!read_back_.note_no_answer(number)) {
        }
    };
    present({9});
    pass_over(8);
    pass_over(7);
    present({6});
    pass_over(5);
    pass_over(4);
    EXPECT_TRUE(read_back_.is_walking()) << "one between them was answered";
    pass_over(3);
    EXPECT_TRUE(read_back_.is_over());
}

TEST_F(ReadBackTest, BadLineIsGivenLongerThanARefusal) {
    using InVain = ReadBack::InVain;
    int lost = 1;
    while (!read_back_.note_no_answer(9, InVain::lost))
        ++lost;
    EXPECT_EQ(lost, 20);
    int forbidden = 1;
    while (!read_back_.note_no_answer(8, InVain::forbidden))
        ++forbidden;
    EXPECT_EQ(forbidden, 3);
}

}  // namespace

}  // namespace nightferry::sync
