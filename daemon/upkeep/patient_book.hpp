// Which clinics get nothing of a person, because it is not clear which patient they mean.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "daemon/care/known.hpp"
#include "daemon/core/result.hpp"
#include "daemon/logbook/outbox.hpp"

namespace nightferry::upkeep {

class PatientBook {
 public:
    // `clinics_for` names the clinics that may have entries of a person; what was found at others is left
    // out.
    PatientBook(logbook::Outbox& outbox,
                std::function<std::vector<std::string>(const std::string& person)> clinics_for)
        : outbox_(outbox), clinics_for_(std::move(clinics_for)) {}

    // Those that get nothing now, and did not at that instant.
    Result<std::vector<care::LeftOut>> left_out(const std::string& person, Instant known_at);

    std::int64_t changes() const { return outbox_.patient_changes(); }

 private:
    logbook::Outbox& outbox_;
    std::function<std::vector<std::string>(const std::string&)> clinics_for_;
};

}  // namespace nightferry::upkeep
