// The part of SyncMachine that finds out what the clinic's server can do and which patients it means.
#include <string>

#include "daemon/core/words.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/marks.hpp"
#include "fhir/exchange/search.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/resource/capability_statement.hpp"

namespace nightferry::sync {

Action SyncMachine::ask_for_statement(Instant now) {
    phase_ = Phase::asking;
    sent_ = now;
    return Send{JobBuilder::statement_request()};
}

// A server that says nothing readable is tried in the best manner, and teaches us by its answers.
Action SyncMachine::on_statement(const Reply& reply, Instant now) {
    constexpr int failures_max = 3;
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    const bool is_away = answer == nullptr || says_busy(reply);
    if (is_away && fate_of(reply, Purpose::read) == Fate::stop) return stop_pass(words_for(reply), now);
    if (is_away) reached(Mark::statement_without_answer);
    if (is_away && ++statement_failures_ < failures_max) return retry_later(reply, now);
    statement_failures_ = 0;
    statement_read_ = now;
    if (is_away) return retry_later(reply, now);
    builder_.manner() = Manner{};
    statement_known_ = false;
    claimed_ = Carrier::single;
    search_refusals_ = 0;
    const auto document = fhir::json::read(answer->body);
    const auto statement = answer->status == 200 && document
                               ? fhir::resource::read_capability_statement(document->root())
                               : std::nullopt;
    if (!statement) reached(Mark::statement_unreadable);
    if (statement) {
        builder_.manner() = manner_for(*statement);
        statement_known_ = true;
        claimed_ = builder_.manner().carrier;
    }
    return go_on(now);
}

Action SyncMachine::find_next_patient(Instant now) {
    phase_ = Phase::finding_patients;
    sent_ = now;
    const PatientToFind& patient = patients_[next_patient_];
    return Send{builder_.patient_request(patient.system, patient.value)};
}

Action SyncMachine::on_patient_reply(const Reply& reply, Instant now) {
    const Fate fate = fate_of(reply, Purpose::search);
    if (fate == Fate::retry) return retry_later(reply, now);
    const PatientToFind& patient = patients_[next_patient_];
    if (fate == Fate::refuse) {
        leave_out("the clinic refused the search for the patient: " + words_for(reply));
        return go_on(now);
    }
    if (fate != Fate::done) return stop_pass(words_for(reply), now);
    const auto found = fhir::exchange::read_search_answer(std::get<HttpAnswer>(reply).body);
    if (!found) return stop_pass("the clinic's answer to the search for a patient cannot be read", now);
    if (found->matches.size() != 1 || !found->is_complete()) {
        std::string known =
            found->matches.empty() ? "no patient" : counted(found->matches.size(), "patient", "patients");
        if (!found->is_complete()) known = "more patients than it shows";
        leave_out("the clinic knows " + known + " by the identifier in the settings; exactly one is needed");
        return go_on(now);
    }
    const fhir::exchange::Found& one = found->matches.front();
    if (one.location.type != "Patient" ||
        !fhir::exchange::bears_identifier(*one.resource, patient.system, patient.value)) {
        leave_out(
            "the clinic answered the search for the patient with a resource that does not bear the "
            "identifier in the settings");
        return go_on(now);
    }
    builder_.mapper().set_patient(patient.person, one.location.reference());
    ++next_patient_;
    state_.failures = 0;
    return go_on(now);
}

void SyncMachine::leave_out(const std::string& why) {
    reached(Mark::patient_left_out);
    const std::string& person = patients_[next_patient_].person;
    // An earlier pass may have found a patient who is not the one any more.
    builder_.mapper().forget_patient(person);
    left_out_.push_back(person);
    left_out_words_.push_back("nothing is sent for '" + person + "', since " + why);
    ++next_patient_;
    state_.failures = 0;
}

}  // namespace nightferry::sync
