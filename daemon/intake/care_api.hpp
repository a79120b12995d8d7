// The part of the local API that shows what was computed from the entries.
//
//   GET  /v1/report         everything of a period as it was known at an instant
//                           (?person= &from= &to= &known_at=; from and to are days at home, both included)
//   GET  /v1/since-dose     how long ago the last dose was (?person= &at=)
//   GET  /v1/flags          what somebody should look at (?person=; all=yes: also what was dealt with)
//   POST /v1/flags/settle   says that a person dealt with a flag (?person= &key=):
//                           {"by": "a carer's key", "reason": "…"}
//
//   GET  /v1/orders         what clinics list as ordered, beside the regimen: orders_api.hpp
//
// `person` may be left out where only one has a regimen. config/report-format.md documents the answers.
#pragma once

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/upkeep/upkeep.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::intake {

class CareApi {
 public:
    CareApi(const entry::Household& household, upkeep::Upkeep& upkeep, Clock& clock)
        : household_(household), upkeep_(upkeep), clock_(clock) {}

    // Whether the request is meant for this part.
    static bool is_for(std::string_view path);

    // An error means that the logbook failed.
    Result<HttpAnswer> answer(const HttpRequest& request);

 private:
    Result<HttpAnswer> report(const HttpRequest& request, const care::Plan& plan);
    Result<HttpAnswer> since_dose(const HttpRequest& request, const care::Plan& plan);
    Result<HttpAnswer> flags(const HttpRequest& request, const care::Plan& plan);
    // Who is meant, if that is clear and they have none; else null.
    const entry::Person* without_regimen(const std::optional<std::string>& key) const;
    Result<HttpAnswer> flags_without_regimen(const entry::Person& person);
    Result<HttpAnswer> settle(const HttpRequest& request, const care::Plan& plan);

    // The instant a parameter names, local or with its offset, or now. Errc::bad_input when it is none, was
    // twice or never at home, or lies before 2000 or later than `latest`.
    Result<Instant> instant_of(const HttpRequest& request, std::string_view name, Instant latest) const;
    // The days a request names, or the last two weeks that were known. Errc::bad_input when they are none.
    Result<care::Period> period_of(const HttpRequest& request, Instant known_at) const;
    void put_flags(fhir::json::Value& into, const care::Review& review, const care::Plan& plan,
                   const care::FlagHistory& history, bool all) const;

    const entry::Household& household_;
    upkeep::Upkeep& upkeep_;
    Clock& clock_;
};

}  // namespace nightferry::intake
