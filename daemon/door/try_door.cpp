#include "daemon/door/try_door.hpp"

#include <boost/asio/io_context.hpp>

#include "daemon/core/ids.hpp"
#include "daemon/core/log.hpp"
#include "daemon/door/clinic_door.hpp"

namespace nightferry::door {

namespace {

// What a log would say is among the steps.
class NoLog final : public Log {
    void take(LogEvent, std::span<const Fact>) override {}
};

TestRecord new_record(const config::Settings& settings, Clock& clock, Random& random) {
    std::string name = "test record";
    for (int i = 0; i < 4; ++i)
        name += "-" + std::to_string(random.below(1u << 30));
    const std::string& hub = settings.household.hub;
    return {settings.identifier_system, NameSpace(hub).id_for(name).urn(), hub, clock.now(), {}, false};
}

sync::Reply reply_to(ClinicDoor& door, const Preflight::Ask& ask, boost::asio::io_context& loop) {
    sync::Reply reply;
    const auto done = [&](sync::Reply told) { reply = std::move(told); };
    if (ask.signed_in) {
        door.send(ask.request, done);
    } else {
        door.send_without_signing_in(ask.request, done);
    }
    loop.restart();
    loop.run();
    return reply;
}

}  // namespace

std::vector<Step> try_door(const config::Settings& settings, const config::Clinic& clinic,
                           bool send_test_record, Clock& clock, Random& random) {
    boost::asio::io_context loop{1};
    NoLog log;
    auto door = ClinicDoor::make(loop, clinic, clock, random, log);
    if (!door) return {{Step::Result::bad, "settings", door.error().detail}};
    Preflight preflight(clinic, {new_record(settings, clock, random), send_test_record});
    while (const auto ask = preflight.next()) {
        sync::Reply reply = reply_to(**door, *ask, loop);
        preflight.answered({std::move(reply), (*door)->arrival(), (*door)->keeper().expires(),
                            (*door)->remarks(), clock.now()});
    }
    (*door)->rest();
    return preflight.steps();
}

}  // namespace nightferry::door
