// Whom and what this hub knows. Entries may only name people and medicines listed here.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/decimal.hpp"
#include "daemon/core/ids.hpp"
#include "daemon/core/zone.hpp"
#include "daemon/entry/entry.hpp"

namespace nightferry::entry {

struct Person {
    std::string key;   // How entries name the person.
    std::string name;  // For people to read.
    // What other systems call the person: "Patient/p1", an absolute URL, or "system|value".
    std::vector<std::string> known_as = {};
};

struct Carer {
    std::string key;
    std::string name;
    std::string same_as;                     // Key of the person when the carer is the patient, else empty.
    std::vector<std::string> known_as = {};  // As for a person.
};

// A code by which others name a product.
struct ProductCode {
    std::string system;
    std::string code;
};

struct Medicine {
    std::string key;
    std::string substance;                     // International nonproprietary name, lower case: "enoxaparin".
    Decimal strength;                          // In strength_unit per millilitre.
    Unit strength_unit = Unit::milligram;      // Milligram or international unit; doses are reported in it.
    std::vector<ProductCode> codes = {};       // By which clinics order it,
    std::vector<std::string> ordered_as = {};  // and words that they may use for it, lower case.
};

struct Household {
    std::string hub;  // Name of this hub; part of every computed id, so it never changes.
    Zone zone;
    std::vector<Person> persons;
    std::vector<Carer> carers;
    std::vector<Medicine> medicines;

    NameSpace ids() const { return NameSpace(hub); }
    const Person* person(std::string_view key) const { return find(persons, key); }
    const Carer* carer(std::string_view key) const { return find(carers, key); }
    const Medicine* medicine(std::string_view key) const { return find(medicines, key); }

 private:
    template <class T>
    static const T* find(const std::vector<T>& all, std::string_view key) {
        const auto it = std::find_if(all.begin(), all.end(), [&](const T& one) { return one.key == key; });
        return it == all.end() ? nullptr : &*it;
    }
};

}  // namespace nightferry::entry
