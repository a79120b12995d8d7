// Settings that must not change once something in the logbook depends on them: under another strength old
// volumes would become other doses, at another address old receipts would name strangers' resources.
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>

#include "daemon/core/result.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

struct Pin {
    enum class Kind {
        hub,       // In use once any entry was recorded.
        medicine,  // In use once an entry names it.
        clinic,    // In use once anything was sent to it.
    };
    Kind kind = Kind::hub;
    std::string key;    // "name", or the key of the medicine, or the name of the clinic.
    std::string value;  // "100 mg/mL enoxaparin", "https://clinic.example:443/fhir"
    std::string place;  // In the settings: "medicine[1]".
};

// Compares each with what was remembered and remembers what may still change. Errc::setup when one changed
// while it is in use; nothing is remembered then. The error names its place in the settings only; `tell`
// hears what it was and what it is now, which is not for a log.
Result<void> hold_pins(Database& db, std::span<const Pin> pins,
                       const std::function<void(const std::string&)>& tell);

// A single remembered value by its name; nothing when there is none. For this room.
Result<std::optional<std::string>> remembered(Database& db, const std::string& name);
Result<void> remember(Database& db, const std::string& name, const std::string& value);
Result<void> forget(Database& db, const std::string& name);

}  // namespace nightferry::logbook
