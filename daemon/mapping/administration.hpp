// Doses, given and not given, as MedicationAdministration.
#pragma once

#include "daemon/core/result.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/mapping/frame.hpp"
#include "fhir/json/document.hpp"
#include "fhir/resource/datatypes.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::mapping {

// What stands between the reason and the name in the text of a dose left out on the clinic's instruction.
inline constexpr std::string_view said_by = "; said by: ";

// The dose as the clinic gets it.
fhir::resource::Quantity dose_quantity(const entry::Amount& amount, const entry::Medicine& medicine);
// "0.18 mL (18 mg) of enoxaparin 100 mg/mL under the skin, left thigh, from vial V1"
std::string dosage_words(const entry::DoseGiven& dose, const entry::Medicine& medicine);
// The dose for which dosage_words() wrote exactly these words; nothing for other words.
std::optional<entry::DoseGiven> dose_of_words(const std::string& words, const entry::Site& site,
                                              const entry::Medicine& medicine);

// Errc::setup when the medicine is no longer in the settings.
Result<void> put_administration(fhir::json::Value& into, const entry::Version& version,
                                const entry::Household& household, const Frame& frame,
                                fhir::spec::Release release);

}  // namespace nightferry::mapping
