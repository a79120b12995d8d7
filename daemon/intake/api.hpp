// The local HTTP API: what each request means. Knows no sockets; a server hands requests in.
//
//   POST /v1/entries                    hand in entries (application/json, application/x-ndjson, text/csv),
//   or FHIR
//                                       resources (application/fhir+json; fhirVersion=4.0): fhir_answer.hpp
//   GET  /v1/entries                    list them, newest first (?person= &from= &to= &limit=; summaries=yes:
//   also what
//                                       the hub made)
//   GET  /v1/entries/{id}               one entry with its revisions and deliveries
//   GET  /v1/queue                      how each clinic's outbox and newest pass stand
//   GET  /v1/deliveries?state=          what is waiting, or set_aside (&clinic= &limit=)
//   POST /v1/passes                     start a pass now (?clinic=)
//   POST /v1/deliveries/release         send again what was set aside (?clinic= &entry=)
//   POST /v1/deliveries/settle          close what was set aside (?clinic= &entry=) once a person has settled
//   it
//                                       with the clinic: {"by": "a carer's key", "reason": "…"}
//   /v1/report, /v1/since-dose, /v1/flags    what was computed from the entries: care_api.hpp
//   /v1/sharing, /v1/audit                   what each clinic may have and gets: sharing_api.hpp
//   /v1/logbook                              the logbook as a whole: logbook_api.hpp
//   /v1/health, /v1/ready, /metrics          how the hub is: watching/api.hpp, asked before this one
//
// Every answer is JSON; to FHIR it is FHIR, and parts of a copy and entries to export are what they are. An
// error is {"error": "…"} with what to do.
#pragma once

#include <string>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/intake/care_api.hpp"
#include "daemon/intake/desk.hpp"
#include "daemon/intake/logbook_api.hpp"
#include "daemon/intake/sharing_api.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/outbox.hpp"
#include "fhir/exchange/media_type.hpp"

namespace nightferry::intake {

// Passes, as far as the API needs them.
class Passes {
 public:
    virtual ~Passes() = default;
    virtual std::vector<std::string> clinics() const = 0;
    virtual bool is_running(const std::string& clinic) const = 0;
    virtual void start(const std::string& clinic) = 0;
    // What a person should know about the way to a clinic, while records cross all the same; a sentence each.
    virtual std::vector<std::string> remarks(const std::string& /*clinic*/) const { return {}; }
};

class Api {
 public:
    Api(const entry::Household& household, Desk& desk, logbook::Logbook& logbook, logbook::Outbox& outbox,
        Passes& passes, CareApi& care, SharingApi& sharing, LogbookApi& keeping, Clock& clock)
        : household_(household),
          desk_(desk),
          logbook_(logbook),
          outbox_(outbox),
          passes_(passes),
          care_(care),
          sharing_(sharing),
          keeping_(keeping),
          clock_(clock) {}

    // A failing logbook gives 507 (no room) or 500; the caller learns of the latter by `failed()`.
    HttpAnswer answer(const HttpRequest& request);

    // The error after which the process has to end, if one came.
    const std::optional<Error>& failed() const { return failed_; }

 private:
    HttpAnswer hand_in(const HttpRequest& request);
    HttpAnswer hand_in_fhir(const HttpRequest& request, const fhir::exchange::MediaType& type);
    HttpAnswer list(const HttpRequest& request);
    HttpAnswer show(const HttpRequest& request);
    HttpAnswer queue();
    HttpAnswer deliveries(const HttpRequest& request);
    HttpAnswer start_passes(const HttpRequest& request);
    HttpAnswer release(const HttpRequest& request);
    HttpAnswer settle(const HttpRequest& request);

    // ?limit=, or the default; nothing when it is no number in range.
    static std::optional<std::int64_t> limit_of(const HttpRequest& request);
    HttpAnswer entries(const std::vector<EntryId>& ids);
    EntryId id_from(const std::string& text) const;
    HttpAnswer storage_error(const Error& error);
    // The clinics a request is about: the one it names, or all. Empty when it names an unknown one.
    std::vector<std::string> clinics_of(const HttpRequest& request) const;
    HttpAnswer unknown_clinic(const HttpRequest& request) const;

    const entry::Household& household_;
    Desk& desk_;
    logbook::Logbook& logbook_;
    logbook::Outbox& outbox_;
    Passes& passes_;
    CareApi& care_;
    SharingApi& sharing_;
    LogbookApi& keeping_;
    Clock& clock_;
    std::optional<Error> failed_;
};

}  // namespace nightferry::intake
