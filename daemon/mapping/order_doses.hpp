// The parts of a MedicationRequest in the household's terms. Used by clinic_orders.cpp.
#pragma once

#include <optional>

#include "daemon/care/clinic_order.hpp"
#include "daemon/core/zone.hpp"
#include "fhir/resource/medication_request.hpp"

namespace nightferry::mapping {

// Into amount, least, most and their words.
void read_amount(care::OrderedDose& dose, const fhir::resource::MedicationRequest::Instruction& instruction);

// Into clocks, a_day, apart and their words. What a Timing says in a way that gives no times of day, or
// leaves a range, is said and not guessed (https://hl7.org/fhir/R4/datatypes.html#Timing).
void read_times(care::OrderedDose& dose, const fhir::resource::Timing& timing);

// Into from and until; a day is the home's.
void read_bounds(care::OrderedDose& dose, const fhir::resource::Timing::Bounds& bounds, const Zone& home);

// When a FHIR date or dateTime begins, and when it is over: "2026-11" begins with the first of the month at
// home and is over with its last day. Nothing when it is neither.
struct Stretch {
    Instant begin;
    Instant end;
};
std::optional<Stretch> stretch_of(std::string_view date_time, const Zone& home);

// So much in one millilitre; nothing when it is told in other units.
std::optional<entry::Amount> per_millilitre(const fhir::resource::Medication::Strength& strength);

// "18 mg"
std::string words_of(const fhir::resource::Quantity& quantity);

}  // namespace nightferry::mapping
