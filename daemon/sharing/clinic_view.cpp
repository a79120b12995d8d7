#include "daemon/sharing/clinic_view.hpp"

#include "daemon/sync/order_walk.hpp"
#include "fhir/exchange/query.hpp"

namespace nightferry::sharing {

mapping::Identities identities_of(const config::Settings& settings, const config::Clinic& clinic) {
    mapping::Identities identities{
        settings.identifier_system, {}, clinic.carers, clinic.device, clinic.contains_carers};
    for (const auto& [person, key] : clinic.patients) {
        if (const auto* reference = std::get_if<std::string>(&key))
            identities.patients.emplace(person, *reference);
    }
    return identities;
}

std::vector<sync::PatientToFind> patients_to_find(const config::Clinic& clinic) {
    std::vector<sync::PatientToFind> patients;
    for (const auto& [person, key] : clinic.patients) {
        const auto* identifier = std::get_if<config::PatientIdentifier>(&key);
        patients.push_back(identifier != nullptr
                               ? sync::PatientToFind{person, identifier->system, identifier->value}
                               : sync::PatientToFind{person, {}, {}, std::get<std::string>(key)});
    }
    return patients;
}

Result<sync::JobBuilder> builder_before_contact(const config::Settings& settings,
                                                const config::Clinic& clinic, logbook::OrderShelf& orders) {
    sync::JobBuilder made(mapping::Mapper(settings.household, identities_of(settings, clinic)));
    for (const auto& [person, key] : clinic.patients) {
        if (!clinic.orders) break;
        const auto history = orders.history(clinic.name, person);
        if (!history) return history.error();
        made.mapper().set_orders(person, sync::orders_in_force(*history, settings.household));
    }
    return made;
}

sync::JobBuilder for_preview(const config::Clinic& clinic, sync::JobBuilder builder) {
    for (const sync::PatientToFind& one : patients_to_find(clinic)) {
        if (builder.mapper().identities().patients.contains(one.person)) continue;
        builder.mapper().set_patient(one.person,
                                     "Patient?" + fhir::exchange::identifier_query(one.system, one.value));
    }
    return builder;
}

}  // namespace nightferry::sharing
