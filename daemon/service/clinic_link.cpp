#include "daemon/service/clinic_link.hpp"

#include "daemon/mapping/mapper.hpp"
#include "daemon/sharing/clinic_view.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/timetable.hpp"

namespace nightferry::service {

namespace {

sync::Policy policy_for(const config::Clinic& clinic) {
    sync::Policy policy;
    policy.release = clinic.release;
    return policy;
}

// What of the clinic's orders is kept from earlier passes.
Result<sync::OrderReading> order_reading(const config::Settings& settings, const config::Clinic& clinic,
                                         logbook::OrderShelf& orders) {
    sync::OrderReading reading{clinic.base.to_string(), &settings.household, {}, {}};
    for (const auto& [person, key] : clinic.patients) {
        const auto history = orders.history(clinic.name, person);
        if (!history) return history.error();
        reading.active.emplace(person, history->active());
        reading.in_force.emplace(person, sync::orders_in_force(*history, settings.household));
    }
    return reading;
}

}  // namespace

Result<std::unique_ptr<ClinicLink>> ClinicLink::make(boost::asio::io_context& loop,
                                                     const config::Settings& settings,
                                                     const config::Clinic& clinic, logbook::Outbox& outbox,
                                                     logbook::OrderShelf& orders, upkeep::Upkeep& upkeep,
                                                     Clock& clock, Random& random, Log& log,
                                                     std::function<void(const Error&)> on_failure) {
    auto door = door::ClinicDoor::make(loop, clinic, clock, random, log);
    if (!door) return door.error();
    auto state = outbox.state(clinic.name);
    if (!state) return state.error();
    sync::SyncMachine machine(policy_for(clinic),
                              mapping::Mapper(settings.household, sharing::identities_of(settings, clinic)),
                              sharing::patients_to_find(clinic), std::move(*state), random);
    if (clinic.orders) {
        auto reading = order_reading(settings, clinic, orders);
        if (!reading) return reading.error();
        machine.read_orders_of(std::move(*reading));
    }
    return std::unique_ptr<ClinicLink>(new ClinicLink(loop, settings, clinic, outbox, orders, upkeep,
                                                      std::move(*door), std::move(machine), clock, random,
                                                      log, std::move(on_failure)));
}

ClinicLink::ClinicLink(boost::asio::io_context& loop, const config::Settings& settings,
                       const config::Clinic& clinic, logbook::Outbox& outbox, logbook::OrderShelf& orders,
                       upkeep::Upkeep& upkeep, std::unique_ptr<door::ClinicDoor> door,
                       sync::SyncMachine machine, Clock& clock, Random& random, Log& log,
                       std::function<void(const Error&)> on_failure)
    : outbox_(outbox, upkeep, clinic.name, clock, clinic.orders ? &orders : nullptr),
      door_(std::move(door)),
      pass_alarm_(loop),
      night_alarm_(loop),
      loop_(clinic.name, std::move(machine),
            sync::Timetable({clinic.window_opens, clinic.window_closes}, settings.household.zone,
                            settings.household.hub),
            sync::LoopPorts{*door_, outbox_, clock, random, pass_alarm_, night_alarm_, log},
            std::move(on_failure)) {
    if (clinic.as_it_happens) loop_.send_as_it_happens({});
}

}  // namespace nightferry::service
