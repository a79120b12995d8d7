// So many of so many.
#pragma once

#include <cstdint>
#include <optional>

#include "daemon/core/decimal.hpp"

namespace nightferry::care {

struct Share {
    std::int64_t n = 0;
    std::int64_t of = 0;

    // With one decimal, half up; nothing when there is nothing to be part of.
    std::optional<Decimal> percent() const;
    bool operator==(const Share&) const = default;
};

}  // namespace nightferry::care
