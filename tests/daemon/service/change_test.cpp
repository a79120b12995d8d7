// Which settings a running daemon can take over.
#include "daemon/service/change.hpp"

#include "config/load_settings.hpp"
#include "tests/support/files.hpp"

namespace nightferry::service {

namespace {

using testing::ElementsAre;
using testing::IsEmpty;

config::Settings demo() {
    return config::parse_settings(test::source_file("config/demo/household.toml"), "/srv/home")
        .settings.value();
}

TEST(ChangeTest, FolderOfTheLogbookSocketAndFormOfTheLogNeedARestart) {
    const config::Settings now = demo();
    config::Settings next = demo();
    next.data = "/elsewhere";
    next.socket = "/run/other.sock";
    next.log = config::LogForm::json;
    EXPECT_THAT(what_needs_a_restart(now, next), ElementsAre("hub.data", "hub.socket", "hub.log"));
}

TEST(ChangeTest, EverythingElseDoesNot) {
    const config::Settings now = demo();
    config::Settings next = demo();
    next.inbox = "/srv/other";
    next.household.hub = "another";
    next.clinics.clear();
    next.plans.clear();
    next.metrics = config::MetricsListener{"127.0.0.1", 9464};
    EXPECT_THAT(what_needs_a_restart(now, next), IsEmpty());
}

}  // namespace

}  // namespace nightferry::service
