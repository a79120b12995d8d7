#include "daemon/upkeep/patient_book.hpp"

namespace nightferry::upkeep {

Result<std::vector<care::LeftOut>> PatientBook::left_out(const std::string& person, Instant known_at) {
    std::vector<care::LeftOut> all;
    for (const std::string& clinic : clinics_for_(person)) {
        const auto state = outbox_.state(clinic);
        if (!state) return state.error();
        const auto found = state->patients.find(person);
        if (found == state->patients.end()) continue;
        const logbook::ClinicState::KnownPatient& patient = found->second;
        if (patient.left_out_because.empty() || patient.left_out_since > known_at) continue;
        all.push_back({clinic, patient.left_out_since, patient.left_out_because});
    }
    return all;
}

}  // namespace nightferry::upkeep
