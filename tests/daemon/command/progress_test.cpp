// When a line about progress is shown, and that it goes away.
#include "daemon/command/progress.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace nightferry::command {

namespace {

using namespace std::chrono_literals;

class HandClock final : public Clock {
 public:
    Instant now() const override { return now_; }
    void move(std::chrono::microseconds span) { now_ += span; }

 private:
    Instant now_{};
};

class ProgressTest : public testing::Test {
 protected:
    Progress::Screen screen() {
        return [this](std::string_view text) { shown_.emplace_back(text); };
    }
    HandClock clock_;
    std::vector<std::string> shown_;
};

TEST_F(ProgressTest, IsShownAfterASecondAndNotMoreOftenThanPeopleCanRead) {
    Progress progress(clock_, screen());
    progress.tell("1 of 9");
    clock_.move(999ms);
    progress.tell("2 of 9");
    EXPECT_THAT(shown_, testing::IsEmpty());
    clock_.move(1ms);
    progress.tell("3 of 9");
    progress.tell("4 of 9");
    clock_.move(200ms);
    progress.tell("5 of 9");
    EXPECT_THAT(shown_, testing::ElementsAre("\r\x1b[K3 of 9 …", "\r\x1b[K5 of 9 …"));
}

TEST_F(ProgressTest, GoesAwayAtTheEnd) {
    { Progress(clock_, screen()).tell_now("looking"); }
    EXPECT_THAT(shown_, testing::ElementsAre("\r\x1b[Klooking …", "\r\x1b[K"));
    shown_.clear();
    { Progress(clock_, screen()).tell("too soon"); }
    EXPECT_THAT(shown_, testing::IsEmpty());
}

TEST_F(ProgressTest, SaysNothingWhereNobodyLooks) {
    Progress progress(clock_, {});
    clock_.move(5s);
    progress.tell("1 of 9");
    progress.tell_now("looking");
}

}  // namespace

}  // namespace nightferry::command
