// A hub whose local API is called without a socket, and deliveries that come back as a test says.
#pragma once

#include "daemon/intake/api.hpp"
#include "tests/daemon/intake/hub.hpp"

namespace nightferry::intake {

using Names = std::vector<std::string>;
using logbook::Settlement;

class ScriptedPasses final : public Passes {
 public:
    Names clinics() const override { return names; }
    bool is_running(const std::string& clinic) const override { return clinic == running; }
    void start(const std::string& clinic) override { started.push_back(clinic); }

    Names names{"nowhere", "elsewhere"};
    std::string running;
    Names started;
};

// Juniper is shared with two clinics.
class ApiTest : public testing::Test {
 protected:
    ApiTest() { hub_.clinics["juniper"] = {"nowhere", "elsewhere"}; }

    std::string id(const std::string& label) const { return hub_.id(label).to_string(); }

    // "200 {…}".
    std::string ask(const std::string& method, const std::string& target, const std::string& body = {},
                    const std::string& media_type = {}) {
        const HttpAnswer answer = api_.answer({method, target, {{"Content-Type", media_type}}, body});
        EXPECT_EQ(header(answer.headers, "Content-Type"), "application/json");
        EXPECT_EQ(header(answer.headers, "Cache-Control"), "no-store");
        EXPECT_TRUE(answer.body.ends_with('\n'));
        return std::to_string(answer.status) + " " + answer.body.substr(0, answer.body.size() - 1);
    }
    std::string get(const std::string& target) { return ask("GET", target); }
    std::string post(const std::string& target) { return ask("POST", target); }
    std::string close(const std::string& query, const std::string& body) {
        return ask("POST", "/v1/deliveries/settle" + query, body, "application/json");
    }
    std::string hand_in(const std::string& lines) {
        return ask("POST", "/v1/entries", lines, "application/x-ndjson");
    }

    // How many entries an answer to GET /v1/entries lists, and their ids in order.
    Names listed(const std::string& target) {
        const std::string answer = get(target);
        EXPECT_TRUE(answer.starts_with("200 ")) << answer;
        Names ids;
        for (auto at = answer.find("{\"action\""); at != std::string::npos;
             at = answer.find("{\"action\"", at + 1)) {
            const auto start = answer.find("\"id\":\"", at) + 6;
            ids.push_back(answer.substr(start, answer.find('"', start) - start));
        }
        return ids;
    }

    // A delivery goes out to "nowhere" and comes back with that fate.
    void settle(Settlement::Fate fate, const std::string& words = {},
                const logbook::ClinicState& state = {}) {
        const auto parcels = hub_.outbox.take("nowhere", {.limit = 1}, hub_.clock.now()).value();
        ASSERT_EQ(parcels.size(), 1u);
        Settlement settlement{parcels[0].id, parcels[0].wanted.revision, fate, {}, false, false, words};
        if (fate == Settlement::Fate::confirmed)
            settlement.receipt = logbook::Receipt{1, "Observation", "o7", "1", 201, hub_.clock.now()};
        ASSERT_TRUE(hub_.outbox.settle("nowhere", std::vector{settlement}, state, hub_.clock.now()));
    }

    Hub hub_;
    ScriptedPasses passes_;
    std::vector<care::Plan> plans_;
    logbook::FlagStore flags_{*hub_.db};
    upkeep::Upkeep upkeep_{
        hub_.household, plans_,     hub_.book,
        flags_,         hub_.clock, [this](const std::string& person) { return hub_.clinics[person]; }};
    CareApi care_{hub_.household, upkeep_, hub_.clock};
    logbook::AuditTrail audit_{*hub_.db};
    Names owed_;  // Clinics that were said to be owed more.
    SharingApi sharing_{hub_.household,
                        hub_.book,
                        hub_.outbox,
                        audit_,
                        hub_.clock,
                        {[this] { return passes_.names; },
                         [this](const std::string&) {
                             return sync::JobBuilder(mapping::Mapper(
                                 hub_.household, {"urn:example:home", {{"juniper", "Patient/p1"}}, {}, {}}));
                         },
                         [this](const std::string& clinic) { owed_.push_back(clinic); }}};
    LogbookApi keeping_{hub_.household, "urn:example:home", *hub_.db, logbook::file_in(hub_.folder.path()),
                        hub_.clock};
    Api api_{hub_.household, hub_.desk, hub_.book, hub_.outbox, passes_,
             care_,          sharing_,  keeping_,  hub_.clock};
};

}  // namespace nightferry::intake
