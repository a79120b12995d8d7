// The household that tests use: one person, two carers (and the person herself), two medicines.
#pragma once

#include "daemon/entry/household.hpp"

namespace nightferry::test {

inline entry::Household household() {
    return {"test-home",
            *Zone::find("Europe/Dublin"),
            {{"juniper", "Juniper Exampleton-Test"}},
            {{"marlow", "Marlow Exampleton", ""},
             {"tove", "Tove Exampleton", ""},
             {"self", "Juniper", "juniper"}},
            {{"enoxaparin-100", "enoxaparin", Decimal(100, 0), entry::Unit::milligram},
             {"dalteparin-10000", "dalteparin", Decimal(10000, 0), entry::Unit::international_unit}}};
}

// A clock reading for tests: 2026-11-02 12:00 UTC.
inline Instant test_now() {
    return Instant{std::chrono::sys_days{std::chrono::year{2026} / 11 / 2} + std::chrono::hours{12}};
}

}  // namespace nightferry::test
