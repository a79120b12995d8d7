#include "daemon/service/pins_of.hpp"

#include "daemon/entry/vocabulary.hpp"

namespace nightferry::service {

std::vector<logbook::Pin> pins_of(const config::Settings& settings) {
    using Kind = logbook::Pin::Kind;
    std::vector<logbook::Pin> pins{
        {Kind::hub, "name", settings.household.hub, "hub.name"},
        {Kind::hub, "identifier_system", settings.identifier_system, "hub.identifier_system"}};
    const auto place = [](const char* list, std::size_t before) {
        return list + ("[" + std::to_string(before + 1) + "]");
    };
    for (std::size_t i = 0; i < settings.household.medicines.size(); ++i) {
        const entry::Medicine& medicine = settings.household.medicines[i];
        pins.push_back({Kind::medicine, medicine.key,
                        medicine.strength.to_string() + " " +
                            std::string(entry::word_for(medicine.strength_unit)) + "/mL " +
                            medicine.substance,
                        place("medicine", i)});
    }
    for (std::size_t i = 0; i < settings.clinics.size(); ++i) {
        const WebAddress& base = settings.clinics[i].base;
        pins.push_back({Kind::clinic, settings.clinics[i].name,
                        std::string(base.tls ? "https://" : "http://") + base.host + ":" +
                            std::to_string(base.port) + base.path,
                        place("clinic", i) + ".url"});
    }
    return pins;
}

}  // namespace nightferry::service
