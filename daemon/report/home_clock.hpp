// Times and stretches of time as people at home read them. Used inside this room only.
#pragma once

#include <optional>
#include <string>

#include "daemon/core/zone.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::report {

// Reads instants as the clock showed them in the zone that an answer names.
class HomeClock {
 public:
    explicit HomeClock(const fhir::json::Value& answer);

    // Nothing when it is no time.
    std::optional<LocalSecond> local(const std::string& written) const;
    // "2026-10-12 08:00", or the text itself when it is no time.
    std::string text(const std::string& written) const;

 private:
    std::optional<Zone> zone_;
};

// "2 h 15 min" of a number of minutes, whatever its sign; "none" of nothing.
std::string span_size_text(const std::string& minutes);

}  // namespace nightferry::report
