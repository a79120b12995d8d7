// Facts in words, for flags and reports. Nothing here is an instruction.
#pragma once

#include <chrono>
#include <string>

#include "daemon/care/known.hpp"
#include "daemon/care/sites.hpp"
#include "daemon/core/zone.hpp"

namespace nightferry::care {

// "2026-10-12 08:00", as the home's clock showed it.
std::string clock_words(const Zone& home, Instant at);
// "08:00" of a time since midnight.
std::string time_of_day_words(std::chrono::minutes clock);
// "2 h 15 min", "45 min", "0 min"; without a sign.
std::string span_words(std::chrono::microseconds span);
// "0.18 mL (18 mg)", or "18 mg" where no volume was written.
std::string amount_words(const entry::Amount& amount, const DoseSize& size);
// "18 mg"
std::string content_words(const Decimal& content, entry::Unit unit);
// "left thigh"
std::string zone_words(const BodyZone& zone);
std::string zone_words(const entry::Site& site);
// "not at hand"
std::string why_words(entry::WhyNotGiven why);
// "colour change"
std::string finding_words(entry::FindingKind kind);

}  // namespace nightferry::care
