// The recording page around a real logbook: what is shown, and what becomes of what is typed.
#include "daemon/page/pages.hpp"

#include <regex>

#include "daemon/entry/body.hpp"
#include "tests/daemon/intake/hub.hpp"

namespace nightferry::page {

namespace {

using namespace std::chrono_literals;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

class Counting final : public Random {
 public:
    std::uint64_t below(std::uint64_t bound) override { return bound == 0 ? 0 : next_++ % bound; }

 private:
    std::uint64_t next_ = 0;
};

// Juniper gets 0.18 mL at eight and at twenty from 30 October on. It is 2 November, noon; the slot of eight
// is still open.
class PagesTest : public testing::Test {
 protected:
    PagesTest() {
        care::Plan plan;
        plan.person = "juniper";
        const entry::Amount amount{Decimal(18, 2), entry::Unit::millilitre};
        plan.regimen.orders.push_back(
            {LocalSecond{std::chrono::local_days{std::chrono::year{2026} / 10 / 30}},
             hub_.household.zone,
             "enoxaparin-100",
             {{8h, amount}, {20h, amount}}});
        plans_.push_back(plan);
        hub_.household.persons.resize(1);
    }

    Pages pages(texts::Language language = texts::Language::english) {
        return Pages({hub_.household, hub_.desk, hub_.book, upkeep_, hub_.clock, random_, language,
                      [this]() -> Result<std::vector<Crossing>> { return crossings_; }});
    }
    HttpAnswer get(const std::string& target) { return pages().answer({"GET", target, {}, {}}, phone_); }
    HttpAnswer post(const std::string& target, const std::string& body) {
        return pages().answer({"POST", target, {}, body}, phone_);
    }
    // As the form of a dose sends it.
    static std::string dose(const std::string& id, const std::string& more = {}) {
        return "person=juniper&id=" + id +
               "&ordered_amount=0.18+mL&ordered_for=08%3A00&amount_is=ordered&other_amount=&medicine="
               "enoxaparin-100"
               "&place=thigh+left&when=now&time=&by=marlow&checked_by=&vial=&note=&x_cm=&y_cm=&confirmed="
               "yes" +
               more;
    }
    std::string words() {
        std::string all;
        for (const logbook::EntryRecord& one : hub_.book.list({}).value().records)
            all += entry::to_body(one.current.submission) + "\n";
        return all;
    }

    intake::Hub hub_;
    std::vector<care::Plan> plans_;
    logbook::FlagStore flags_{*hub_.db};
    upkeep::Upkeep upkeep_{
        hub_.household, plans_,     hub_.book,
        flags_,         hub_.clock, [this](const std::string& person) { return hub_.clinics[person]; }};
    Counting random_;
    std::vector<Crossing> crossings_;
    const Device phone_ = [] {
        Device phone;
        phone.id = "k3tw9cfd";
        phone.carer = "tove";
        return phone;
    }();
};

TEST_F(PagesTest, ADoseIsRecordedAsItWasTyped) {
    const HttpAnswer answer = post("/dose", dose("page-1", "&checked_by=tove"));
    ASSERT_EQ(answer.status, 303) << answer.body;
    const std::string address(header(answer.headers, "Location"));
    EXPECT_THAT(address, testing::MatchesRegex("/entry/[0-9a-f-]{36}\\?news=new"));
    EXPECT_THAT(words(), AllOf(HasSubstr(R"("person":"juniper")"), HasSubstr(R"("amount":0.18,"unit":"mL")"),
                               HasSubstr(R"("region":"thigh","side":"left")"), HasSubstr(R"("by":"marlow")"),
                               HasSubstr(R"("recorded_by":"tove")")));
    EXPECT_THAT(get(address).body,
                AllOf(HasSubstr("Recorded."), HasSubstr("0.18 mL enoxaparin-100, left thigh")));
}

TEST_F(PagesTest, TheOrderedAmountIsThereBeforeAnythingWasRecorded) {
    EXPECT_THAT(get("/dose").body,
                AllOf(HasSubstr("0.18 mL, as ordered for 08:00"), HasSubstr(R"(value="0.18 mL")")));
    EXPECT_THAT(get("/").body, HasSubstr("20:00: nothing recorded yet"));
}

TEST_F(PagesTest, TheSameFormSentTwiceIsThereOnce) {
    EXPECT_EQ(post("/dose", dose("page-1")).status, 303);
    const HttpAnswer again = post("/dose", dose("page-1"));
    EXPECT_EQ(again.status, 303) << again.body;
    EXPECT_THAT(std::string(header(again.headers, "Location")), HasSubstr("?news=again"));
    EXPECT_EQ(hub_.entries(), 1u);
}

TEST_F(PagesTest, SentOnceMoreLaterItIsStillTheSame) {
    EXPECT_EQ(post("/dose", dose("page-1")).status, 303);
    hub_.clock.move(7min);
    const HttpAnswer again = post("/dose", dose("page-1"));
    EXPECT_EQ(again.status, 303) << again.body;
    EXPECT_EQ(hub_.entries(), 1u);
    const std::regex place("thigh\\+left");
    EXPECT_EQ(post("/dose", std::regex_replace(dose("page-1"), place, "thigh+right")).status, 422)
        << "another content";
}

TEST_F(PagesTest, WhatAPhoneKeptHappenedWhenItWasTyped) {
    const auto seconds =
        std::chrono::floor<std::chrono::seconds>((hub_.clock.now() - 3h).time_since_epoch()).count();
    EXPECT_EQ(post("/dose", dose("page-1", "&typed_at=" + std::to_string(seconds))).status, 303);
    EXPECT_THAT(words(), HasSubstr(R"("time":"2026-11-02T09:00:00+00:00")"));
    for (const char* nonsense : {"&typed_at=99999999999", "&typed_at=x", "&typed_at=1", "&typed_at=-5"}) {
        const HttpAnswer asked = post(
            "/finding",
            std::string("person=juniper&id=f&finding=bruise&present=yes&place=thigh+right&when=now&by=tove") +
                nonsense);
        EXPECT_EQ(asked.status, 422) << nonsense;
        EXPECT_THAT(asked.body, HasSubstr("write when it was"));
    }
    EXPECT_EQ(hub_.entries(), 1u);
}

TEST_F(PagesTest, AnotherTimeThatIsMissingIsAskedForAndNeverNow) {
    const HttpAnswer asked =
        post("/dose", std::regex_replace(dose("page-1"), std::regex("when=now"), "when=then"));
    EXPECT_EQ(asked.status, 422);
    EXPECT_THAT(asked.body, HasSubstr("is missing; expected"));
    EXPECT_EQ(
        post("/not-given", "person=juniper&id=n&medicine=enoxaparin-100&time=&why=forgot&by=tove").status,
        422);
    EXPECT_EQ(hub_.entries(), 0u);
}

TEST_F(PagesTest, WhatCannotBeAmendedHereIsNotFound) {
    hub_.hand_in(intake::weight("w1"));
    const std::string entry = "/entry/" + hub_.id("w1").to_string();
    EXPECT_EQ(get(entry).status, 200);
    EXPECT_EQ(get(entry + "/amend").status, 404);
    EXPECT_EQ(post(entry + "/amend", "reason=x").status, 404);
    EXPECT_EQ(get("/entry/" + hub_.id("nothing").to_string()).status, 404);
}

TEST_F(PagesTest, ACorrectionSentOnceMoreIsThereOnce) {
    const std::string address(header(post("/dose", dose("page-1")).headers, "Location"));
    const std::string entry = address.substr(0, address.find('?'));
    const std::string changed =
        "amount=0.2+mL&medicine=enoxaparin-100&place=thigh+left&when=then&time=2026-11-02T12%3A00&by=marlow&"
        "reason=misread";
    const auto revisions = [&] {
        return hub_.book.find(*EntryId::parse(entry.substr(7))).value()->revisions.size();
    };
    for (const char* path : {"/amend", "/retract"}) {
        hub_.clock.move(2min);
        EXPECT_EQ(post(entry + path, changed).status, 303);
        const auto before = revisions();
        hub_.clock.move(2min);
        const HttpAnswer again = post(entry + path, changed);
        EXPECT_EQ(again.status, 303) << path;
        EXPECT_THAT(std::string(header(again.headers, "Location")), HasSubstr("news=again"));
        EXPECT_EQ(revisions(), before) << path;
    }
}

TEST_F(PagesTest, ADoseThatWasGivenIsSaidBeforeItIsRecordedAsNotGiven) {
    ASSERT_EQ(post("/dose", dose("page-1")).status, 303);
    const std::string missed =
        "person=juniper&id=n&medicine=enoxaparin-100&time=2026-11-02T08%3A00&why=forgot&by=tove";
    const HttpAnswer told = post("/not-given", missed);
    EXPECT_EQ(told.status, 409);
    EXPECT_THAT(told.body, HasSubstr("was given at 12:00 by Marlow"));
    EXPECT_EQ(post("/not-given", missed + "&even_so=yes").status, 303);
}

TEST_F(PagesTest, AHeldDoseIsSaidToBeHeld) {
    plans_[0].regimen.holds.push_back(
        {hub_.clock.now() - 6h, hub_.clock.now() + 1h, "the nurse", hub_.clock.now() - 24h, ""});
    hub_.hand_in(
        R"({"type":"dose_given","id":"d0","person":"juniper","time":"2026-11-01T08:00","by":"marlow",)"
        R"("medicine":"enoxaparin-100","amount":0.18,"unit":"mL","region":"thigh","side":"right"})");
    EXPECT_THAT(get("/dose").body, HasSubstr("08:00: left out, as the clinic said"));
}

TEST_F(PagesTest, WhatTheFormDoesNotShowSurvivesAnAmendment) {
    hub_.hand_in(
        R"({"type":"dose_given","id":"d1","person":"juniper","time":"2026-11-01T20:00:00+01:00","by":"marlow",)"
        R"("medicine":"enoxaparin-100","amount":0.18,"unit":"mL","region":"abdomen","side":"left","level":"upper",)"
        R"("note":"in Paris","identifiers":"urn:example:pen|7\n|8"})");
    const std::string entry = "/entry/" + hub_.id("d1").to_string();
    const std::string same = "amount=0.2+mL&medicine=enoxaparin-100&place=abdomen+left&when=then&time=";
    EXPECT_EQ(
        post(entry + "/amend", same + "2026-11-01T19%3A00&by=marlow&note=in+Paris&reason=misread").status,
        303);
    EXPECT_THAT(words(),
                AllOf(HasSubstr(R"("time":"2026-11-01T20:00:00+01:00")"), HasSubstr(R"("level":"upper")"),
                      HasSubstr("urn:example:pen|7"), HasSubstr(R"("amount":0.2)")));
}

TEST_F(PagesTest, WhatSomebodyElseRecordedForTheSlotIsSaidAndNothingIsRecordedBehindIt) {
    ASSERT_EQ(post("/dose", dose("page-1")).status, 303);
    EXPECT_THAT(get("/dose").body, HasSubstr("There is an entry for"));
    const HttpAnswer second = post("/dose", dose("page-2"));
    EXPECT_EQ(second.status, 409);
    EXPECT_THAT(second.body,
                AllOf(HasSubstr("Nothing else is recorded for it."), HasSubstr("Marlow Exampleton"),
                      HasSubstr(R"(name="even_so")"), HasSubstr(R"(value="page-2")"),
                      HasSubstr(R"(name="separate" value="yes")")));
    EXPECT_EQ(hub_.entries(), 1u);
    EXPECT_EQ(post("/dose", dose("page-2", "&even_so=yes&separate=yes")).status, 303);
    EXPECT_EQ(post("/dose", dose("page-2", "&even_so=yes&separate=yes")).status, 303) << "sent once more";
    EXPECT_EQ(hub_.entries(), 2u);
    EXPECT_THAT(words(), HasSubstr(R"("separate":true)"));
}

TEST_F(PagesTest, NothingIsRecordedThatWasNotConfirmedOrCannotBe) {
    const std::regex confirmed("&confirmed=yes");
    const HttpAnswer blind = post("/dose", std::regex_replace(dose("page-1"), confirmed, ""));
    EXPECT_EQ(blind.status, 422);
    EXPECT_THAT(blind.body, HasSubstr("Tick that amount"));
    const HttpAnswer stranger =
        post("/dose", std::regex_replace(dose("page-1"), std::regex("by=marlow"), "by=nobody"));
    EXPECT_EQ(stranger.status, 422);
    EXPECT_THAT(stranger.body,
                AllOf(HasSubstr("is not a carer this hub knows"), HasSubstr(R"(value="page-1")")));
    for (const char* body :
         {"", "person=nobody&id=x", "%", "person=juniper\nid=x", "{\"person\":\"juniper\"}"})
        EXPECT_EQ(post("/dose", body).status, 400) << body;
    EXPECT_EQ(hub_.entries(), 0u);
}

TEST_F(PagesTest, OtherEntriesAreRecordedTheSameWay) {
    EXPECT_EQ(
        post("/not-given",
             "person=juniper&id=n&medicine=enoxaparin-100&time=2026-11-01T20%3A00&why=forgot&by=tove&note=")
            .status,
        303);
    EXPECT_EQ(post("/finding",
                   "person=juniper&id=f&finding=bruise&present=yes&place=thigh+right&length_cm=2%2C5&width_"
                   "cm=&lesion=B1"
                   "&pain=3&minutes=&when=now&by=tove&note=blue%2C+like+plums")
                  .status,
              303);
    EXPECT_EQ(post("/vial",
                   "person=juniper&id=v&medicine=enoxaparin-100&vial=V7&volume_ml=3&lot=L1&expires=2027-03&"
                   "when=now&by=tove")
                  .status,
              303);
    EXPECT_THAT(words(), AllOf(HasSubstr(R"("why":"forgot")"), HasSubstr(R"("length_cm":2.5)"),
                               HasSubstr("blue, like plums"), HasSubstr(R"("vial":"V7")")));
}

TEST_F(PagesTest, AnEntryIsAmendedAndTakenBackWithAReason) {
    const std::string address(header(post("/dose", dose("page-1")).headers, "Location"));
    const std::string entry = address.substr(0, address.find('?'));
    EXPECT_THAT(get(entry + "/amend").body,
                AllOf(HasSubstr(R"(value="0.18 mL")"), HasSubstr(R"(value="thigh left" checked)")));
    hub_.clock.move(5min);
    const std::string changed =
        std::regex_replace(dose("ignored"), std::regex("amount_is=ordered&other_amount="),
                           "amount_is=other&other_amount=0%2C20+mL");
    EXPECT_EQ(post(entry + "/amend", changed).status, 303);
    EXPECT_THAT(words(), HasSubstr(R"("amount":0.20)"));
    hub_.clock.move(5min);
    EXPECT_EQ(post(entry + "/retract", "reason=written+down+twice").status, 303);
    const HttpAnswer shown = get(entry);
    EXPECT_THAT(shown.body, AllOf(HasSubstr("recorded in error"), HasSubstr("amended by Tove Exampleton"),
                                  Not(HasSubstr("/retract"))));
}

TEST_F(PagesTest, TheFirstPageSaysWhereEverythingStands) {
    Crossing crossing;
    crossing.clinic = "north";
    crossing.counts.waiting = 2;
    crossing.counts.set_aside = 1;
    crossings_.push_back(crossing);
    ASSERT_EQ(post("/dose", dose("page-1")).status, 303);
    const std::string page = get("/").body;
    EXPECT_THAT(page, AllOf(HasSubstr("08:00: given at 12:00 by Marlow Exampleton"),
                            HasSubstr("20:00: nothing recorded yet"), HasSubstr("2 entries wait for north"),
                            HasSubstr("north has not accepted 1 entry"), HasSubstr("0 minutes ago"),
                            HasSubstr("nobody watches it as it happens")));
    crossings_[0].counts = {};
    crossings_[0].state.pass_ended = hub_.clock.now() - 10h;
    EXPECT_THAT(get("/").body,
                HasSubstr("north has everything that it is to have. Last sent: Mon 2 Nov 2026, 02:00."));
}

TEST_F(PagesTest, OfEachDeliveryIsSaidHowItStands) {
    const std::string address(header(post("/dose", dose("page-1")).headers, "Location"));
    EXPECT_THAT(get(address).body, HasSubstr("It goes out to nowhere by itself."));
    const auto settle = [&](logbook::Settlement::Fate fate) {
        const auto parcels = hub_.outbox.take("nowhere", {.limit = 1}, hub_.clock.now()).value();
        ASSERT_EQ(parcels.size(), 1u);
        logbook::Settlement settlement{parcels[0].id, 1, fate, {}, false, false, "HTTP 422"};
        ASSERT_TRUE(hub_.outbox.settle("nowhere", std::vector{settlement}, {}, hub_.clock.now()));
    };
    settle(logbook::Settlement::Fate::set_aside);
    EXPECT_THAT(get(address).body,
                AllOf(HasSubstr("nowhere has not accepted it"), Not(HasSubstr("by itself"))));
    const EntryId id = hub_.id("page-1");
    ASSERT_TRUE(hub_.outbox.close("nowhere", id, "tove", "phoned", hub_.clock.now()).value());
    EXPECT_THAT(get(address).body, HasSubstr("It was settled with nowhere; it is not sent."));
}

TEST_F(PagesTest, WhatTheSettingsDoNotKnowAnyMoreIsNotReplacedUnseen) {
    const std::string address(header(post("/dose", dose("page-1", "&checked_by=tove")).headers, "Location"));
    const std::string entry = address.substr(0, address.find('?'));
    std::erase_if(hub_.household.medicines, [](const auto& one) { return one.key == "enoxaparin-100"; });
    EXPECT_THAT(get(entry + "/amend").body, HasSubstr(R"(<option value="enoxaparin-100" selected="">)"));
}

TEST_F(PagesTest, TheNoteOfAVialSurvivesAnAmendment) {
    const std::string vial =
        "person=juniper&id=v&medicine=enoxaparin-100&vial=V7&when=then&time=2026-11-02T09%3A00&by=tove&note="
        "from+the+fridge";
    const std::string address(header(post("/vial", vial).headers, "Location"));
    const std::string entry = address.substr(0, address.find('?'));
    EXPECT_THAT(get(entry + "/amend").body, HasSubstr("from the fridge"));
    hub_.clock.move(5min);
    EXPECT_EQ(post(entry + "/amend", vial + "&lot=L2&reason=read+the+label").status, 303);
    EXPECT_THAT(words(), AllOf(HasSubstr("from the fridge"), HasSubstr(R"("lot":"L2")")));
}

TEST_F(PagesTest, InAnotherLanguageNumbersAndDatesFollow) {
    ASSERT_EQ(post("/dose", dose("page-1")).status, 303);
    Pages german = pages(texts::Language::german);
    const std::string page = german.answer({"GET", "/", {}, {}}, phone_).body;
    EXPECT_THAT(
        page, AllOf(HasSubstr("<html lang=\"de\">"), HasSubstr("0,18 mL"), HasSubstr("Mo 02.11.2026, 12:00"),
                    HasSubstr("links Oberschenkel"), Not(HasSubstr("Last doses"))));
}

TEST_F(PagesTest, WhatPeopleWroteIsNeverMarkup) {
    ASSERT_EQ(post("/dose", dose("page-1", "")).status, 303);
    const std::string hostile = "%3Cscript%3Ealert(1)%3C%2Fscript%3E%22%3E";
    const HttpAnswer refused =
        post("/vial", "person=juniper&id=v&medicine=nothing&vial=" + hostile + "&when=now&by=tove");
    EXPECT_EQ(refused.status, 422);
    EXPECT_THAT(refused.body, AllOf(Not(HasSubstr("<script>alert")), HasSubstr("&lt;script&gt;")));
    EXPECT_EQ(get("/entry/<script>").status, 404);
    EXPECT_THAT(get("/entry/<script>").body, Not(HasSubstr("<script>")));
}

TEST_F(PagesTest, EveryAnswerLetsNothingButThePageItselfIn) {
    for (const char* target : {"/", "/dose", "/finding", "/page.css", "/page.js", "/nowhere"}) {
        const auto asset = Pages::asset({"GET", target, {}, {}});
        const HttpAnswer answer = asset ? *asset : get(target);
        EXPECT_EQ(asset.has_value(), std::string_view(target).starts_with("/page.")) << target;
        EXPECT_THAT(std::string(header(answer.headers, "Content-Security-Policy")),
                    testing::StartsWith("default-src 'none'; "))
            << target;
        EXPECT_EQ(header(answer.headers, "Cache-Control"), "no-store") << target;
    }
}

TEST_F(PagesTest, AFullDiskIsSaidAndTheHubGoesOn) {
    hub_.fill_disk();
    Pages full = pages();
    HttpAnswer answer;
    int recorded = 0;
    do {
        const std::string vial = "person=juniper&id=v" + std::to_string(recorded) +
                                 "&medicine=enoxaparin-100&vial=V" + std::to_string(recorded) +
                                 "&when=now&by=tove&note=" + std::string(1400, 'x');
        answer = full.answer({"POST", "/vial", {}, vial}, phone_);
    } while (answer.status == 303 && ++recorded < 200);
    EXPECT_EQ(answer.status, 507);
    EXPECT_THAT(answer.body, HasSubstr("Keep it on paper"));
    EXPECT_FALSE(full.failed());
    hub_.make_room();
    EXPECT_EQ(post("/dose", dose("page-1")).status, 303);
}

}  // namespace

}  // namespace nightferry::page
