// The part of the local API about what each clinic may have, gets and has, and the audit trail.
//
//   GET  /v1/sharing             what would leave with the next pass, for whom, and by which policy
//                                (?clinic= &person= &limit=; back_to=2026-10-01: also what back-dating to
//                                that day would add; fhir=yes: as the FHIR Bundle in which it would)
//   POST /v1/sharing/back-date   owes a clinic what was recorded before it was to have it
//                                (?clinic= &to=2026-10-01 &by=, the key of the carer who decided it)
//   GET  /v1/sharing/withdrawn   what clinics have but are not to have any more, also those that are not in
//                                the settings any longer (?clinic= &limit=)
//   GET  /v1/audit               rows of the audit trail (?after=NUMBER &limit= &entry=ID)
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/sync/jobs.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::intake {

class SharingApi {
 public:
    struct Ports {
        // The clinics of the settings.
        std::function<std::vector<std::string>()> clinics;
        // How a clinic of the settings would be written to now. An error means that the logbook failed.
        std::function<Result<sync::JobBuilder>(const std::string& clinic)> builder;
        // Something is owed to this clinic that was not before.
        std::function<void(const std::string& clinic)> on_owed;
    };

    SharingApi(const entry::Household& household, logbook::Logbook& logbook, logbook::Outbox& outbox,
               logbook::AuditTrail& audit, Clock& clock, Ports ports)
        : household_(household),
          logbook_(logbook),
          outbox_(outbox),
          audit_(audit),
          clock_(clock),
          ports_(std::move(ports)) {}

    // Whether the request is meant for this part.
    static bool is_for(std::string_view path);

    // An error means that the logbook failed.
    Result<HttpAnswer> answer(const HttpRequest& request);

 private:
    struct Wish {
        std::vector<std::string> clinics;
        std::string person;  // Empty: everybody.
        std::size_t limit = 1000;
        std::optional<Instant> back_to;
        bool as_fhir = false;
    };
    // Errc::bad_input, or not_found for an unknown clinic, with what to say.
    Result<Wish> wish_of(const HttpRequest& request) const;
    // The first moment of a day at home.
    Result<Instant> day_of(const HttpRequest& request, std::string_view name) const;

    Result<HttpAnswer> preview(const Wish& wish);
    Result<void> put_preview(fhir::json::Value& into, const std::string& clinic, const Wish& wish);
    Result<HttpAnswer> back_date(const HttpRequest& request);
    Result<HttpAnswer> withdrawn(const HttpRequest& request);
    Result<HttpAnswer> audit(const HttpRequest& request);

    const entry::Household& household_;
    logbook::Logbook& logbook_;
    logbook::Outbox& outbox_;
    logbook::AuditTrail& audit_;
    Clock& clock_;
    Ports ports_;
};

}  // namespace nightferry::intake
