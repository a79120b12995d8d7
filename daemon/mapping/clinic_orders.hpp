// A clinic's MedicationRequest in the household's terms: which medicine it is about, how much and when. Pure;
// what cannot be understood is said and never guessed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/care/clinic_order.hpp"
#include "daemon/entry/household.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::mapping {

// What of a MedicationRequest is kept: the parts that are compared, in FHIR's own form, and nothing of who
// asked for it, why, or how it is dispensed. `medication` is the Medication that it refers to, where that was
// read; null otherwise.
std::string kept_order(const fhir::json::Value& request, const fhir::json::Value* medication);

// Nothing when the text is no MedicationRequest. The status is that of the text.
std::optional<care::ClinicOrder> read_clinic_order(std::string_view kept, const entry::Household& household);

// An order by which doses of one medicine are given in a stretch of time.
struct OrderInForce {
    std::string reference;  // "MedicationRequest/…"
    std::string medicine;
    Instant from;
    std::optional<Instant> until;
};
// Nothing unless a code names exactly one medicine of the household and the order tells since when it has
// held. `ended` is when it was no longer active.
std::optional<OrderInForce> in_force(const care::ClinicOrder& order, std::optional<Instant> ended);

}  // namespace nightferry::mapping
