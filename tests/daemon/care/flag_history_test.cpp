// What becomes of flags over time.
#include "daemon/care/flag_history.hpp"

#include <set>

#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::care {
namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using Texts = std::vector<std::string>;

const Instant start = test::instant("2026-10-12T07:00Z");

Flag flag(const std::string& key) {
    return {key, FlagKind::late_dose, Level::note, start, "Given late.", {}};
}

// A history to which changes are added as a store adds them.
class Past {
 public:
    Texts arise(const std::vector<Flag>& flags) {
        Texts texts;
        for (const FlagEvent& event : changes_of(history_, flags, start + ++hours_ * 1h)) {
            texts.push_back(std::string(word_for(event.what)) + " " + event.key);
            history_[event.key].push_back(event);
        }
        return texts;
    }
    void settle(const std::string& key) {
        FlagEvent event = history_.at(key).back();
        event.what = FlagEventKind::settled;
        event.by = "marlow";
        history_[key].push_back(event);
    }
    const FlagHistory& history() const { return history_; }

 private:
    FlagHistory history_;
    int hours_ = 0;
};

TEST(FlagHistoryTest, FlagIsRaisedOnce) {
    Past past;
    EXPECT_THAT(past.arise({flag("a"), flag("b")}), ElementsAre("raised a", "raised b"));
    EXPECT_TRUE(past.arise({flag("a"), flag("b")}).empty());
    EXPECT_TRUE(is_open(past.history(), "a"));
    EXPECT_FALSE(is_open(past.history(), "c"));
}

TEST(FlagHistoryTest, LaterFactsClearItAndBringItBack) {
    Past past;
    past.arise({flag("a")});
    EXPECT_THAT(past.arise({}), ElementsAre("cleared a"));
    EXPECT_TRUE(past.arise({}).empty());
    EXPECT_FALSE(is_open(past.history(), "a"));
    EXPECT_THAT(past.arise({flag("a")}), ElementsAre("raised a"));
}

TEST(FlagHistoryTest, WhatAPersonSettledStaysSettledForTheSameFacts) {
    Past past;
    past.arise({flag("a")});
    past.settle("a");
    EXPECT_TRUE(past.arise({flag("a")}).empty());
    EXPECT_FALSE(is_open(past.history(), "a"));
    EXPECT_THAT(past.arise({}), ElementsAre("cleared a"));
    EXPECT_EQ(past.history().at("a").back().by, "");
    EXPECT_THAT(past.arise({flag("a")}), ElementsAre("raised a"));
}

TEST(FlagHistoryTest, TwoFlagsOfOneKeyAreOne) {
    Past past;
    EXPECT_THAT(past.arise({flag("a"), flag("a")}), ElementsAre("raised a"));
}

TEST(FlagHistoryTest, EventKeepsTheFactsAsTheyWere) {
    Past past;
    past.arise({flag("a")});
    past.arise({});
    const FlagEvent& cleared = past.history().at("a").back();
    EXPECT_EQ(cleared.reason, "Given late.");
    EXPECT_EQ(cleared.about, start);
    EXPECT_EQ(cleared.at, start + 2h);
}

TEST(FlagWordsTest, EveryKindHasAWordOfItsOwnAndIsFoundByIt) {
    std::set<std::string_view> words;
    for (const FlagDefault& one : flag_defaults()) {
        EXPECT_TRUE(words.insert(one.word).second) << one.word;
        EXPECT_EQ(flag_kind(one.word), one.kind);
    }
    EXPECT_EQ(flag_kind("lateness"), std::nullopt);
    for (const Level level : {Level::note, Level::contact, Level::urgent})
        EXPECT_EQ(flag_level(word_for(level)), level);
}

}  // namespace
}  // namespace nightferry::care
