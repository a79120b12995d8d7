// Which patient a clinic means, as it answers when it is asked. Pure.
#pragma once

#include <string>

#include "daemon/core/http.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::sync {

// A patient as the settings name them: by identifier, or by reference.
struct PatientToFind {
    std::string person;
    std::string system;
    std::string value;
    std::string reference = {};  // "Patient/…"; empty: known by the identifier only.
};

struct PatientAnswer {
    enum class Kind {
        found,      // `reference` is the one.
        not_shown,  // The server does not show patients; it may take records about one all the same.
        wrong,      // Nothing may be sent about this patient; `words` say why.
        stopped,    // Nothing may be sent there at all; `words` say why.
        failed,     // It may answer another time.
    };
    Kind kind = Kind::failed;
    std::string reference;
    std::string words;
};

// A search by identifier, or the read of a record.
HttpRequest patient_request(const PatientToFind& patient);

// What the reply to it means. A record that was replaced, that is no longer used or that was deleted is never
// the one (https://hl7.org/fhir/R4/patient.html#links). `reads_patients`: the server says that it shows them,
// or does not say what it does.
PatientAnswer read_patient_answer(const PatientToFind& patient, const Reply& reply, bool reads_patients);

}  // namespace nightferry::sync
