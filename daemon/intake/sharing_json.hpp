// How the local API shows what leaves, and by which policy.
#pragma once

#include "daemon/core/zone.hpp"
#include "daemon/entry/sharing_policy.hpp"
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/delivery.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::intake {

void put_policy(fhir::json::Value& into, const entry::PolicyInForce& policy, const Zone& zone);
// What leaves of an entry: what it says as far as it goes along, and what of it stays here.
void put_parcel(fhir::json::Value& into, const logbook::Parcel& parcel);
void put_audit_row(fhir::json::Value& into, const logbook::AuditRow& row, const Zone& zone);

}  // namespace nightferry::intake
