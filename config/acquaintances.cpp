#include "config/acquaintances.hpp"

namespace nightferry::config {

mapping::Acquaintances acquaintances_of(const Settings& settings) {
    mapping::Acquaintances all(settings.household, settings.identifier_system);
    for (const Clinic& clinic : settings.clinics) {
        const std::string base = clinic.base.to_string();
        for (const auto& [person, key] : clinic.patients) {
            if (const auto* reference = std::get_if<std::string>(&key)) {
                all.add_person({person, base, *reference, {}});
            } else {
                const auto& identifier = std::get<PatientIdentifier>(key);
                all.add_person({person, {}, {}, {identifier.system, identifier.value}});
            }
        }
        for (const auto& [carer, reference] : clinic.carers)
            all.add_carer({carer, base, reference, {}});
    }
    return all;
}

}  // namespace nightferry::config
