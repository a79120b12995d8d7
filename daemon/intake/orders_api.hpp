// The part of the local API that shows what clinics list as ordered, beside the regimen.
//
//   GET /v1/orders          what each clinic that is asked for it lists, and how it compares (?person=)
//   GET /v1/orders?propose=yes    a [[regimen]] for the settings made of that, as text
//
// It works without a regimen, too: then every order of the hub's medicines is one that the regimen does not
// have.
#pragma once

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/upkeep/upkeep.hpp"

namespace nightferry::intake {

// An error means that the logbook failed.
Result<HttpAnswer> answer_orders(const HttpRequest& request, const entry::Household& household,
                                 upkeep::Upkeep& upkeep, const Clock& clock);

}  // namespace nightferry::intake
