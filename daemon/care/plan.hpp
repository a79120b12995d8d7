// What the clinic ordered for one person, and everything else that is the clinic's to configure: each limit
// with its default beside it and the basis of that default.
#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/care/adherence.hpp"
#include "daemon/care/flag.hpp"
#include "daemon/care/lesions.hpp"
#include "daemon/care/order_check.hpp"
#include "daemon/care/regimen.hpp"
#include "daemon/care/since_dose.hpp"
#include "daemon/care/sites.hpp"
#include "daemon/care/syringe_use.hpp"
#include "daemon/care/timeline.hpp"
#include "daemon/care/vials.hpp"

namespace nightferry::care {

struct FlagRules {
    std::map<FlagKind, std::optional<Level>> levels;  // Other than the default; nothing: never raised.
    std::map<Level, std::string> texts;               // Other than the default.
    std::chrono::minutes bleeding{20};                // A leaflet for people on anticoagulants says 20 to 30.
    std::chrono::minutes nosebleed{10};               // From memory; trials of anticoagulants count from 5.
    std::chrono::minutes gum_bleeding{10};            // The same.
    std::chrono::hours repeated{24};   // Two of a kind within it, as trials of anticoagulants count.
    std::chrono::hours entry_lag{24};  // Common practice, no source.
    Decimal weight_percent{5, 0};      // Common practice, no source.
    std::chrono::days note_days{7};    // How long something at the level of a note is shown.

    bool operator==(const FlagRules&) const = default;
};

struct Plan {
    std::string person;
    Regimen regimen;
    TimelineLimits timeline;
    AdherenceLimits adherence;
    OrderLimits order;
    SiteRules sites;
    LesionLimits lesions;
    std::optional<SampleWindow> sample;
    std::vector<VialRulesOf> vials;
    std::map<std::string, Syringe> syringes;  // By medicine.
    FlagRules flags;
};

}  // namespace nightferry::care
