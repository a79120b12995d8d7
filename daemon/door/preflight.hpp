// Tries the way in to a clinic step by step, as sending goes it, and says in words what became of each step.
// Pure: it says what to send next, and is told what was answered.
//
// No entry is in anything that it sends. Only `Wish::test_record` lets it write: one Observation about the
// hub itself, which it marks as entered in error right after.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/settings.hpp"
#include "daemon/access/token_keeper.hpp"
#include "daemon/core/http.hpp"
#include "daemon/door/test_resources.hpp"
#include "daemon/net/arrival.hpp"
#include "daemon/sync/manner.hpp"
#include "daemon/sync/patient_answer.hpp"
#include "daemon/sync/ports.hpp"
#include "fhir/exchange/location.hpp"
#include "fhir/resource/capability_statement.hpp"

namespace nightferry::door {

struct Step {
    enum class Result {
        good,
        note,  // Records cross all the same.
        bad,   // Nothing, or not everything, would get through.
    };
    Result result = Result::good;
    std::string name;  // "name", "connection", "proxy", "TLS", "sign-in", "server", "patient", …
    std::string words;
};
std::string_view word_for(Step::Result result);
// Whether records would cross.
bool is_good(const std::vector<Step>& steps);

class Preflight {
 public:
    struct Wish {
        TestRecord record;
        bool test_record = false;  // Write it, and retract it.
    };
    // The reference outlives it.
    Preflight(const config::Clinic& clinic, Wish wish);

    struct Ask {
        HttpRequest request;
        bool signed_in = true;
    };
    // Nothing when all is tried that could be.
    std::optional<Ask> next() const;

    // What there is to know about the way when an answer has come, or has not.
    struct Told {
        sync::Reply reply;
        net::Arrival arrival;
        std::optional<Instant> token_expires;
        std::vector<access::Remark> remarks;
        Instant now;
    };
    void answered(const Told& told);

    const std::vector<Step>& steps() const { return steps_; }

 private:
    enum class Phase {
        asking,
        signing_in,
        patients,
        validating_dose,
        validating_finding,
        writing,
        retracting,
        over
    };

    void add(Step::Result result, std::string name, std::string words);
    void end() { phase_ = Phase::over; }
    void on_way(const Told& told);
    void on_signed_in(const Told& told);
    void on_statement(const sync::Reply& reply);
    void on_patient(const sync::Reply& reply);
    void look_at_permissions();
    void begin_validating();
    void on_verdict(const sync::Reply& reply, std::string_view type);
    void begin_writing();
    void on_written(const sync::Reply& reply);
    void on_retracted(const sync::Reply& reply);
    bool offers_validation(std::string_view type) const;

    const config::Clinic& clinic_;
    Wish wish_;
    const std::vector<sync::PatientToFind> patients_;
    Phase phase_ = Phase::asking;
    std::optional<fhir::resource::CapabilityStatement> statement_;
    fhir::spec::Release release_ = fhir::spec::Release::r4;
    std::size_t next_patient_ = 0;
    std::string patient_;  // The first that was found.
    std::vector<Step> steps_;
};

}  // namespace nightferry::door
