// Whether a scheduled dose has an entry already, so that a second carer is told before recording another one.
// Used inside this room only.
#pragma once

#include <optional>

#include "daemon/page/views.hpp"

namespace nightferry::page {

// When what was typed happened; `now` where it says so. Nothing where its time cannot be read, or the home's
// clock never showed it, or showed it twice: the check of the entry says what is wrong then.
std::optional<Instant> instant_in(const Typed& typed, const Zone& zone, Instant now);

// What the scheduled dose has that lies nearest to that time within the limits of the regimen. Nothing where
// it is open.
std::optional<Taken> taken_at(const Facts& facts, Instant at);

}  // namespace nightferry::page
