#include "daemon/sharing/clinic_view.hpp"

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

sync::JobBuilder builder_for_preview(const config::Settings& settings, const config::Clinic& clinic,
                                     const sync::JobBuilder* builder) {
    sync::JobBuilder made =
        builder != nullptr
            ? *builder
            : sync::JobBuilder(mapping::Mapper(settings.household, identities_of(settings, clinic)));
    for (const sync::PatientToFind& one : patients_to_find(clinic)) {
        if (made.mapper().identities().patients.contains(one.person)) continue;
        made.mapper().set_patient(one.person,
                                  "Patient?" + fhir::exchange::identifier_query(one.system, one.value));
    }
    return made;
}

}  // namespace nightferry::sharing
