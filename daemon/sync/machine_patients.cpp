// The part of SyncMachine that makes sure, in every pass, which patients the clinic means.
#include <algorithm>
#include <string>

#include "daemon/core/words.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/marks.hpp"

namespace nightferry::sync {

Action SyncMachine::find_next_patient(Instant now) {
    phase_ = Phase::finding_patients;
    sent_ = now;
    return Send{patient_request(patients_[next_patient_])};
}

Action SyncMachine::on_patient_reply(const Reply& reply, Instant now) {
    const PatientToFind& patient = patients_[next_patient_];
    PatientAnswer answer = read_patient_answer(patient, reply, reads_patients_);
    switch (answer.kind) {
        case PatientAnswer::Kind::not_shown:
            reached(Mark::patient_not_shown);
            [[fallthrough]];
        case PatientAnswer::Kind::found: {
            const std::string meant_before = state_.patients[patient.person].reference;
            if (means_the_same_patient(patient, answer.reference)) return take_patient(answer.reference, now);
            reached(Mark::another_patient);
            return leave_out("the clinic now means " + in_quotes(answer.reference) +
                                 " by the identifier in the settings, and meant " + in_quotes(meant_before) +
                                 " before; ask the clinic which one is right, and write that one into the "
                                 "settings",
                             now);
        }
        case PatientAnswer::Kind::wrong:
            return leave_out(answer.words, now);
        case PatientAnswer::Kind::stopped:
            return stop_pass(std::move(answer.words), now);
        case PatientAnswer::Kind::failed:
            break;
    }
    constexpr int failures_max = 3;
    const bool can_be_believed = !patient.reference.empty() && !says_busy(reply);
    if (can_be_believed && ++patient_failures_ == failures_max) {
        const logbook::ClinicState::KnownPatient& known = state_.patients[patient.person];
        if (!known.left_out_reference.empty() && known.left_out_reference == patient.reference)
            return leave_out(known.left_out_because, now);
        // A server that takes records about a patient need not be able to show the patient.
        reached(Mark::patient_not_shown);
        patient_failures_ = 0;
        builder_.mapper().set_patient(patient.person, patient.reference);
        note_left_out({}, now);
        ++next_patient_;
    }
    return retry_later(reply, now);
}

// What the settings name by reference is as they say.
bool SyncMachine::means_the_same_patient(const PatientToFind& patient, const std::string& reference) {
    if (!patient.reference.empty()) return true;
    const std::string identifier = patient.system + "|" + patient.value;
    logbook::ClinicState::KnownPatient& known = state_.patients[patient.person];
    if (known.identifier == identifier && known.reference != reference) return false;
    is_patient_news_ = is_patient_news_ || known.reference != reference;
    known.identifier = identifier;
    known.reference = reference;
    return true;
}

Action SyncMachine::take_patient(const std::string& reference, Instant now) {
    const std::string& person = patients_[next_patient_].person;
    builder_.mapper().set_patient(person, reference);
    note_left_out({}, now);
    ++next_patient_;
    patient_failures_ = 0;
    state_.failures = 0;
    return go_on(now);
}

Action SyncMachine::leave_out(const std::string& why, Instant now) {
    reached(Mark::patient_left_out);
    const std::string& person = patients_[next_patient_].person;
    // An earlier pass may have found a patient who is not the one any more.
    builder_.mapper().forget_patient(person);
    left_out_.push_back(person);
    note_left_out(why, now);
    ++next_patient_;
    patient_failures_ = 0;
    state_.failures = 0;
    return go_on(now);
}

std::size_t SyncMachine::persons_left_out() const {
    return static_cast<std::size_t>(std::ranges::count_if(patients_, [this](const PatientToFind& one) {
        const auto known = state_.patients.find(one.person);
        return known != state_.patients.end() && !known->second.left_out_because.empty();
    }));
}

// Kept from pass to pass, with when it began; nothing when it is clear which patient is meant.
void SyncMachine::note_left_out(const std::string& why, Instant now) {
    const PatientToFind& patient = patients_[next_patient_];
    logbook::ClinicState::KnownPatient& known = state_.patients[patient.person];
    // Another record that the settings name may be right where this one is not.
    known.left_out_reference = why.empty() ? std::string() : patient.reference;
    if (known.left_out_because == why) return;
    known.left_out_because = why;
    known.left_out_since = why.empty() ? Instant{} : now;
}

}  // namespace nightferry::sync
