#include "daemon/care/share.hpp"

namespace nightferry::care {

std::optional<Decimal> Share::percent() const {
    constexpr std::int64_t most = 9'999'999;
    if (of == 0 || n > most || of > most) return std::nullopt;
    return divide(Decimal(100 * n, 0), Decimal(of, 0), 1, Rounding::half_up);
}

}  // namespace nightferry::care
