#include "tests/sim/mix.hpp"

#include <algorithm>

namespace nightferry::sim {

namespace {

bool one_in(Dice& dice, std::uint64_t n) {
    return dice.below(n) == 0;
}

// Mostly absent, otherwise anything up to `most`.
int odds(Dice& dice, std::uint64_t one_in_n, int most) {
    if (!one_in(dice, one_in_n)) return 0;
    return 1 + static_cast<int>(dice.below(static_cast<std::uint64_t>(most)));
}

void draw_server(Dice& dice, Mix::Server& server) {
    server.misbehaves = odds(dice, 2, 250);
    const auto all = misbehaviours();
    const bool anything = one_in(dice, 3);
    for (const Misbehaviour one : all) {
        if (anything || one_in(dice, 6)) server.kinds.push_back(one);
    }
    if (server.kinds.empty()) server.misbehaves = 0;
    server.restores = odds(dice, 4, 40);
    server.refuses = one_in(dice, 3);
    server.breaks = one_in(dice, 5);
    server.tells_date = !one_in(dice, 5);
}

}  // namespace

Mix draw_mix(Dice& dice) {
    Mix mix;
    mix.fault_days = 1 + static_cast<int>(dice.below(3));
    mix.line = {odds(dice, 2, 200), odds(dice, 2, 200), odds(dice, 2, 150), odds(dice, 4, 100),
                odds(dice, 3, 60)};
    draw_server(dice, mix.server);
    mix.people = {odds(dice, 4, 60), odds(dice, 4, 60), odds(dice, 6, 30), odds(dice, 6, 30)};
    mix.process = {odds(dice, 2, 150), odds(dice, 4, 60), one_in(dice, 2), one_in(dice, 2)};
    mix.disk = {odds(dice, 4, 80), odds(dice, 4, 60), odds(dice, 4, 80)};
    mix.clock = {odds(dice, 4, 60), one_in(dice, 6), one_in(dice, 2)};
    mix.family.entries_a_day = 2 + static_cast<int>(dice.below(10));
    mix.family.as_it_happens = one_in(dice, 3);
    mix.family.backlog = one_in(dice, 5) ? static_cast<int>(dice.below(120)) : 0;
    mix.clinics = one_in(dice, 5) ? 2 : 1;
    mix.patient_by_identifier = one_in(dice, 4);
    if (one_in(dice, 6)) mix.bundle_bytes = 12 * 1024;
    mix.process.loops = odds(dice, 3, 80);
    mix.people.races = odds(dice, 3, 300);
    mix.family.interruptions = odds(dice, 3, 100);
    mix.people.moves = odds(dice, 4, 60);
    mix.family.second_thoughts = odds(dice, 3, 120);
    if (one_in(dice, 6)) mix.line.breaks_at = 2 + static_cast<int>(dice.below(6));
    return mix;
}

Dialect draw_dialect(Dice& dice) {
    if (one_in(dice, 3)) return thorough();
    if (one_in(dice, 2)) return random_dialect(dice);
    const std::vector<Dialect> named = named_dialects();
    return named[dice.below(named.size())];
}

}  // namespace nightferry::sim
