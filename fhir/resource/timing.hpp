// When something is to happen: the Timing data type (https://hl7.org/fhir/R4/datatypes.html#Timing, the same
// in R4B and R5), read from a JSON tree. Numbers keep their exact text.
#pragma once

#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::resource {

struct Timing {
    // From when until when, or how long, or between how long and how long: at most one of the three.
    struct Bounds {
        std::string start;  // dateTime
        std::string end;    // dateTime
        std::optional<Quantity> duration;
        std::optional<Quantity> duration_low;
        std::optional<Quantity> duration_high;
    };

    std::vector<std::string> event;  // dateTimes at which it happens.
    Bounds bounds;
    std::string count;
    std::string frequency;      // So many times …
    std::string frequency_max;  // … or up to so many times …
    std::string period;         // … in each such period …
    std::string period_max;
    std::string period_unit;               // … of these: s, min, h, d, wk, mo, a.
    std::vector<std::string> day_of_week;  // mon, tue, …
    std::vector<std::string> time_of_day;  // "08:00:00"
    std::vector<std::string> when;         // event-timing: "MORN", "HS", …
    CodeableConcept code;                  // An abbreviation: "BID".
};

// Of the member of that name; empty when there is none.
Timing timing_of(const json::Value& object, std::string_view name);

}  // namespace nightferry::fhir::resource
