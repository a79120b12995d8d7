#include "daemon/sync/patient_answer.hpp"

#include "daemon/core/words.hpp"
#include "daemon/sync/fate.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/exchange/search.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/resource/person.hpp"

namespace nightferry::sync {

using Kind = PatientAnswer::Kind;

namespace {

constexpr char what_to_do[] = "; ask the clinic which one is right, and write that one into the settings";

// Why nothing may be written about this patient; empty when it may.
std::string why_not(const fhir::resource::Person& patient) {
    const std::string record = in_quotes(patient.type + "/" + patient.id);
    if (patient.replaced_by) {
        const std::string& other = patient.replaced_by->reference;
        return "the clinic replaced the patient record " + record + " by " +
               (other.empty() ? "another one" : in_quotes(other)) + what_to_do;
    }
    if (!patient.active.value_or(true))
        return "the clinic no longer uses the patient record " + record + what_to_do;
    return {};
}

PatientAnswer judged(const fhir::resource::Person& patient, const std::string& reference) {
    const std::string fault = why_not(patient);
    return {fault.empty() ? Kind::found : Kind::wrong, reference, fault};
}

PatientAnswer read_search(const PatientToFind& patient, std::string_view body) {
    const auto found = fhir::exchange::read_search_answer(body);
    if (!found) return {Kind::stopped, {}, "the clinic's answer to the search for a patient cannot be read"};
    if (found->matches.size() != 1 || !found->is_complete()) {
        std::string known =
            found->matches.empty() ? "no patient" : counted(found->matches.size(), "patient", "patients");
        if (!found->is_complete()) known = "more patients than it shows";
        return {Kind::wrong,
                {},
                "the clinic knows " + known + " by the identifier in the settings; exactly one is needed"};
    }
    const fhir::exchange::Found& one = found->matches.front();
    const auto person = fhir::resource::read_person(*one.resource);
    if (!person || one.location.type != "Patient" ||
        !fhir::exchange::bears_identifier(*one.resource, patient.system, patient.value)) {
        return {Kind::wrong,
                {},
                "the clinic answered the search for the patient with a resource that does not bear the "
                "identifier in the settings"};
    }
    return judged(*person, one.location.reference());
}

PatientAnswer read_record(const std::string& reference, std::string_view body) {
    const auto document = fhir::json::read(body);
    if (!document) return {Kind::stopped, {}, "the clinic's answer about a patient cannot be read"};
    const auto person = fhir::resource::read_person(document->root());
    if (!person || person->type + "/" + person->id != reference) {
        return {Kind::wrong,
                {},
                "the clinic answered with something else when it was asked for " + in_quotes(reference) +
                    what_to_do};
    }
    return judged(*person, reference);
}

PatientAnswer read_refused_search(Fate fate, const Reply& reply) {
    if (fate != Fate::refuse) return {Kind::stopped, {}, words_for(reply)};
    return {Kind::wrong, {}, "the clinic refused the search for the patient: " + words_for(reply)};
}

PatientAnswer read_refused_read(const std::string& reference, const Reply& reply, bool reads_patients) {
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    const int status = answer == nullptr ? 0 : answer->status;
    if (status == 410)
        return {
            Kind::wrong, {}, "the clinic deleted the patient record " + in_quotes(reference) + what_to_do};
    if (status == 404 && reads_patients)
        return {Kind::wrong, {}, "the clinic knows no " + in_quotes(reference) + what_to_do};
    if (answer == nullptr || status == 401 || (status >= 300 && status < 400))
        return {Kind::stopped, {}, words_for(reply)};
    return {Kind::not_shown, reference, words_for(reply)};
}

}  // namespace

HttpRequest patient_request(const PatientToFind& patient) {
    const std::string target = patient.reference.empty() ? "/Patient?" + fhir::exchange::identifier_query(
                                                                             patient.system, patient.value)
                                                         : "/" + patient.reference;
    return {"GET", target, {{"Accept", "application/fhir+json"}}, {}};
}

PatientAnswer read_patient_answer(const PatientToFind& patient, const Reply& reply, bool reads_patients) {
    const bool is_search = patient.reference.empty();
    const Fate fate = fate_of(reply, is_search ? Purpose::search : Purpose::read);
    if (fate == Fate::retry) return {Kind::failed, {}, words_for(reply)};
    if (fate != Fate::done) {
        return is_search ? read_refused_search(fate, reply)
                         : read_refused_read(patient.reference, reply, reads_patients);
    }
    const std::string& body = std::get<HttpAnswer>(reply).body;
    return is_search ? read_search(patient, body) : read_record(patient.reference, body);
}

}  // namespace nightferry::sync
