// What the settings file says, typed. config/nightferry.sample.toml shows every key with its meaning.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/care/plan.hpp"
#include "daemon/entry/household.hpp"

namespace nightferry::config {

// A clinic's FHIR base address.
struct Endpoint {
    bool tls = true;  // Plain HTTP only ever to this machine itself.
    std::string host;
    std::uint16_t port = 443;
    std::string base_path;  // "/fhir", without a slash at the end; may be empty.
};

// A patient as the clinic knows it: by a literal reference, or by an identifier that is searched for.
struct PatientIdentifier {
    std::string system;
    std::string value;
};
using PatientKey = std::variant<std::string, PatientIdentifier>;

struct Clinic {
    std::string name;
    Endpoint endpoint;
    std::optional<std::filesystem::path> trust;  // PEM file of the only CAs to trust; absent: the system's.
    std::chrono::minutes window_opens{60};       // Local time of day.
    std::chrono::minutes window_closes{300};
    bool as_it_happens = false;                  // Passes also soon after something was recorded.
    std::map<std::string, PatientKey> patients;  // By person; a person not listed is not shared with it.
    std::map<std::string, std::string> carers;   // By carer, a literal reference.
    std::string device;                          // Literal reference, or empty.
};

struct Settings {
    entry::Household household;
    std::string identifier_system;
    std::filesystem::path data;  // Folder of the logbook.
    std::filesystem::path inbox;
    std::filesystem::path socket;
    std::vector<Clinic> clinics;
    std::vector<care::Plan> plans;  // At most one for each person.

    // The names of the clinics that may have entries of a person.
    std::vector<std::string> clinics_for(const std::string& person) const {
        std::vector<std::string> names;
        for (const Clinic& clinic : clinics) {
            if (clinic.patients.contains(person)) names.push_back(clinic.name);
        }
        return names;
    }
};

}  // namespace nightferry::config
