// Measured values in settings: "180 min", "2.5 cm", "28 days". Each key has one unit and a range; a value
// that is left out keeps its default. Used inside this room only.
#pragma once

#include <functional>
#include <span>
#include <string_view>

#include "config/settings_reader.hpp"
#include "daemon/core/decimal.hpp"

namespace nightferry::config {

struct Measure {
    std::string_view key;
    std::string_view unit;  // Empty: a plain number.
    Decimal least;
    Decimal most;
    bool is_whole = false;
    std::function<void(const Decimal&)> set;
};

void read_measures(TableReader& table, std::span<const Measure> measures);

}  // namespace nightferry::config
