// How a clinic of the settings knows this home, and so how this home's entries would look there.
#pragma once

#include <vector>

#include "config/settings.hpp"
#include "daemon/core/result.hpp"
#include "daemon/logbook/order_shelf.hpp"
#include "daemon/mapping/mapper.hpp"
#include "daemon/sync/jobs.hpp"
#include "daemon/sync/machine.hpp"

namespace nightferry::sharing {

mapping::Identities identities_of(const config::Settings& settings, const config::Clinic& clinic);
std::vector<sync::PatientToFind> patients_to_find(const config::Clinic& clinic);

// Makes requests as before any contact with the clinic in this life. Doses name the orders that were read in
// earlier ones. An error means that the logbook failed.
Result<sync::JobBuilder> builder_before_contact(const config::Settings& settings,
                                                const config::Clinic& clinic, logbook::OrderShelf& orders);

// The same for showing: a patient who has still to be found there stands as the search by which it will be
// ("Patient?identifier=…").
sync::JobBuilder for_preview(const config::Clinic& clinic, sync::JobBuilder builder);

}  // namespace nightferry::sharing
