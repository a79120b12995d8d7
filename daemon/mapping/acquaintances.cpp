#include "daemon/mapping/acquaintances.hpp"

#include <algorithm>

namespace nightferry::mapping {

namespace {

bool means(const Alias& alias, const Named& named) {
    const auto has_reference = [&](const std::string& one) {
        return one == alias.reference || (!alias.base.empty() && one == alias.base + "/" + alias.reference);
    };
    const auto has_identifier = [&](const fhir::resource::Identifier& one) {
        return one.system == alias.identifier.system && one.value == alias.identifier.value;
    };
    if (!alias.reference.empty())
        return std::any_of(named.references.begin(), named.references.end(), has_reference);
    return std::any_of(named.identifiers.begin(), named.identifiers.end(), has_identifier);
}

void add_once(std::vector<std::string>& keys, const std::string& key) {
    if (std::find(keys.begin(), keys.end(), key) == keys.end()) keys.push_back(key);
}

std::vector<std::string> keys_of(const std::vector<Alias>& aliases, const Named& named) {
    std::vector<std::string> keys;
    for (const Alias& alias : aliases) {
        if (means(alias, named)) add_once(keys, alias.key);
    }
    return keys;
}

}  // namespace

Acquaintances::Acquaintances(const entry::Household& household, std::string identifier_system)
    : household_(household), identifier_system_(std::move(identifier_system)) {
    for (const entry::Person& person : household.persons) {
        add_person({person.key, {}, {}, {identifier_system_, "person:" + person.key}});
        for (const std::string& name : person.known_as)
            add_person(alias(person.key, name));
    }
    for (const entry::Carer& carer : household.carers) {
        add_carer({carer.key, {}, {}, {identifier_system_, "carer:" + carer.key}});
        for (const std::string& name : carer.known_as)
            add_carer(alias(carer.key, name));
    }
}

Alias Acquaintances::alias(const std::string& key, std::string_view name) {
    const auto bar = name.find('|');
    if (bar == std::string_view::npos) return {key, {}, std::string(name), {}};
    return {key, {}, {}, {std::string(name.substr(0, bar)), std::string(name.substr(bar + 1))}};
}

std::vector<std::string> Acquaintances::persons(const Named& named) const {
    return keys_of(persons_, named);
}

std::vector<std::string> Acquaintances::carers(const Named& named) const {
    std::vector<std::string> keys = keys_of(carers_, named);
    for (const std::string& person : persons(named)) {
        for (const entry::Carer& carer : household_.carers) {
            if (carer.same_as == person) add_once(keys, carer.key);
        }
    }
    return keys;
}

}  // namespace nightferry::mapping
