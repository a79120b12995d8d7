// Who closed something, and why: {"by": "a carer's key", "reason": "…"}.
#pragma once

#include <string>

#include "daemon/core/result.hpp"
#include "daemon/entry/household.hpp"

namespace nightferry::intake {

struct Closer {
    std::string by;
    std::string reason;
};

// Read like an entry, so that a mistake gets the same words. Errc::bad_input says what is wrong.
Result<Closer> read_closer(const std::string& body, const entry::Household& household, Instant now);

}  // namespace nightferry::intake
