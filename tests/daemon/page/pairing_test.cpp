// Codes for letting a phone in, and what becomes of those who guess. Limits: common practice, no source.
#include "daemon/page/pairing.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <set>

#include "tests/daemon/page/fixed_secrets.hpp"
#include "tests/support/household.hpp"

namespace nightferry::page {
namespace {

using namespace std::chrono_literals;

class PairingTest : public testing::Test {
 protected:
    std::string invite(const std::string& carer = "tove", const std::string& name = "a phone") {
        const auto code = pairing_.invite(carer, name, now_);
        EXPECT_TRUE(code.has_value()) << code.error().detail;
        return code ? code->letters : "";
    }
    // "tove: a phone", "wrong 2", "wrong 5, locked for 60", "locked for 30".
    std::string redeem(const std::string& code) {
        const auto answer = pairing_.redeem(code, now_);
        if (const auto* whom = std::get_if<Pairing::Invited>(&answer)) return whom->carer + ": " + whom->name;
        const auto& refused = std::get<Pairing::Refused>(answer);
        const std::string lock = "locked for " + std::to_string(refused.lock.count());
        if (refused.is_locked) return lock;
        return "wrong " + std::to_string(refused.wrong) + (refused.lock.count() > 0 ? ", " + lock : "");
    }
    void guess(int times) {
        for (int i = 0; i < times; ++i)
            EXPECT_EQ(redeem("ZZZZ" + std::to_string(1000 + i)).substr(0, 5), "wrong");
    }

    test::FixedSecrets secrets_;
    Pairing pairing_{secrets_};
    Instant now_ = test::test_now();
};

TEST_F(PairingTest, CodeIsGoodOnceForWhomItWasMade) {
    const std::string code = invite("tove", "Tove's phone");
    EXPECT_EQ(code.size(), 8u);
    EXPECT_EQ(redeem(code), "tove: Tove's phone");
    EXPECT_EQ(redeem(code), "wrong 1");
}

TEST_F(PairingTest, ItIsTakenAsPeopleTypeIt) {
    const std::string code = invite();
    std::string typed = " " + for_people(code) + " ";
    for (char& c : typed)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    EXPECT_EQ(redeem(typed), "tove: a phone");
}

TEST_F(PairingTest, ItIsGoodForTenMinutes) {
    const auto code = pairing_.invite("tove", "a phone", now_);
    EXPECT_EQ(code->good_until, now_ + 10min);
    now_ += 10min - 1us;
    EXPECT_EQ(redeem(code->letters), "tove: a phone");
    const std::string other = invite();
    now_ += 10min;
    EXPECT_EQ(redeem(other), "wrong 1");
}

TEST_F(PairingTest, ClockThatIsSetBackMakesNoCodeLastLonger) {
    const std::string code = invite();
    now_ -= 1h;
    EXPECT_EQ(redeem(code), "wrong 1");
    now_ += 1h;
    EXPECT_EQ(redeem(code), "wrong 2") << "nor again";
}

TEST_F(PairingTest, OneCodeIsPendingForEachCarer) {
    const std::string first = invite("tove", "the old one");
    const std::string others = invite("marlow", "his phone");
    const std::string second = invite("tove", "the new one");
    EXPECT_EQ(redeem(first), "wrong 1");
    EXPECT_EQ(redeem(second), "tove: the new one");
    EXPECT_EQ(redeem(others), "marlow: his phone");
}

TEST_F(PairingTest, WhatCannotBeACodeIsAWrongOne) {
    invite();
    EXPECT_EQ(redeem(""), "wrong 1");
    EXPECT_EQ(redeem("--------"), "wrong 2");
    EXPECT_EQ(redeem(std::string(100'000, 'C')), "wrong 3");
    EXPECT_EQ(redeem(std::string("CDFG\0HJK", 8)), "wrong 4");
}

TEST_F(PairingTest, AfterFiveWrongOnesAllCodesDieAndNoneIsTakenForAMinute) {
    const std::string code = invite();
    guess(4);
    EXPECT_EQ(redeem("ZZZZZZZZ"), "wrong 5, locked for 60");
    EXPECT_EQ(redeem(code), "locked for 60");
    now_ += 30s;
    EXPECT_EQ(redeem(code), "locked for 30");
    EXPECT_EQ(pairing_.locked_until(now_), now_ + 30s);
    const auto refused = pairing_.invite("tove", "a phone", now_);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, Errc::locked);
    EXPECT_EQ(
        refused.error().detail,
        "too many wrong codes were tried, so none is taken for 1 minute; the log tells pairing_refused");
    now_ += 30s;
    EXPECT_EQ(redeem(code), "wrong 1") << "it died";
    EXPECT_EQ(redeem(invite()), "tove: a phone");
}

TEST_F(PairingTest, EachLockIsTwiceAsLongUpToAnHourUntilACodeIsRight) {
    std::vector<std::string> locks;
    for (int i = 0; i < 8; ++i) {
        guess(4);
        locks.push_back(redeem("ZZZZZZZZ"));
        now_ = *pairing_.locked_until(now_);
    }
    EXPECT_THAT(locks, testing::ElementsAre("wrong 5, locked for 60", "wrong 5, locked for 120",
                                            "wrong 5, locked for 240", "wrong 5, locked for 480",
                                            "wrong 5, locked for 960", "wrong 5, locked for 1920",
                                            "wrong 5, locked for 3600", "wrong 5, locked for 3600"));
    EXPECT_EQ(redeem(invite()), "tove: a phone");
    guess(4);
    EXPECT_EQ(redeem("ZZZZZZZZ"), "wrong 5, locked for 60");
}

TEST_F(PairingTest, WhatIsTriedDuringALockDoesNotProlongIt) {
    guess(5);
    for (int i = 0; i < 100; ++i)
        EXPECT_EQ(redeem("ZZZZZZZZ").substr(0, 6), "locked");
    now_ += 1min;
    EXPECT_EQ(pairing_.locked_until(now_), std::nullopt);
}

TEST_F(PairingTest, ClockThatIsSetBackDuringALockMakesItNoLonger) {
    guess(5);
    now_ -= 24h;
    EXPECT_EQ(redeem("ZZZZZZZZ"), "locked for 60");
    now_ += 1min;
    EXPECT_EQ(redeem("ZZZZZZZZ"), "wrong 1");
}

TEST_F(PairingTest, RightCodeForgivesWrongOnes) {
    guess(4);
    EXPECT_EQ(redeem(invite()), "tove: a phone");
    guess(4);
    EXPECT_EQ(redeem(invite()), "tove: a phone");
}

// Of each of the 240 bytes that are used twelve lead to each letter.
TEST_F(PairingTest, EveryLetterIsAsLikelyAsAnother) {
    std::map<char, int> times;
    for (const char c : random_letters(secrets_, 240))
        ++times[c];
    EXPECT_EQ(times.size(), 20u);
    for (const auto& [letter, number] : times) {
        EXPECT_EQ(number, 12) << letter;
        EXPECT_EQ(std::string_view("AEIOU01258BLSVZ6").find(letter), std::string_view::npos) << letter;
    }
}

}  // namespace
}  // namespace nightferry::page
