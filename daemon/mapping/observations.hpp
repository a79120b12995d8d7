// Findings, weights and opened vials as Observation.
#pragma once

#include "daemon/core/result.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/mapping/frame.hpp"
#include "fhir/json/document.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::mapping {

// Errc::setup when the medicine of an opened vial is no longer in the settings.
Result<void> put_observation(fhir::json::Value& into, const entry::Version& version,
                             const entry::Household& household, const Frame& frame,
                             fhir::spec::Release release);

}  // namespace nightferry::mapping
