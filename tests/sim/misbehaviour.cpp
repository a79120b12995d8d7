#include "tests/sim/misbehaviour.hpp"

#include <array>
#include <cstddef>

namespace nightferry::sim {

namespace {

constexpr std::array<std::string_view, 39> names{
    "none",
    "before_400",
    "before_401",
    "before_403",
    "before_404",
    "before_408",
    "before_409",
    "before_412",
    "before_429_seconds",
    "before_429_date",
    "before_429_absurd",
    "before_429_bare",
    "before_500",
    "before_502_html",
    "before_503",
    "before_503_seconds",
    "before_504",
    "before_200_html",
    "after_408",
    "after_409",
    "after_500",
    "after_502_html",
    "after_503",
    "after_504",
    "empty_body",
    "truncated",
    "html_200",
    "outcome_200",
    "fewer_entries",
    "more_entries",
    "other_order",
    "other_type",
    "other_id",
    "no_statuses",
    "garbage_statuses",
    "no_locations",
    "other_kind",
    "accepted_202",
    "stale_search",
};
static_assert(names.size() == static_cast<std::size_t>(Misbehaviour::stale_search) + 1);

constexpr auto all = [] {
    std::array<Misbehaviour, names.size() - 1> made{};
    for (std::size_t i = 0; i < made.size(); ++i)
        made[i] = static_cast<Misbehaviour>(i + 1);
    return made;
}();

}  // namespace

std::span<const Misbehaviour> misbehaviours() {
    return all;
}

std::string_view name_of(Misbehaviour misbehaviour) {
    return names[static_cast<std::size_t>(misbehaviour)];
}

bool carries_out(Misbehaviour misbehaviour) {
    return misbehaviour == Misbehaviour::none || misbehaviour >= Misbehaviour::after_408;
}

}  // namespace nightferry::sim
