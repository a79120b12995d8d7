// What a simulated family lets one clinic have, and since when, by a clock that never jumps.
#pragma once

#include <vector>

#include "daemon/entry/sharing_policy.hpp"
#include "tests/sim/agenda.hpp"
#include "tests/sim/dice.hpp"

namespace nightferry::sim {

// Everything of the one person of the family.
entry::SharingPolicy everything();
// Some kinds of entries, with or without notes; now and then nothing, and now and then everything again.
entry::SharingPolicy draw_policy(Dice& dice);

class Wishes {
 public:
    // As the settings say; the hub knows it from its next start on.
    const entry::SharingPolicy& newest() const { return newest_; }
    void change(entry::SharingPolicy policy) { newest_ = std::move(policy); }

    // A start of the hub may bring the newest into force, and has done so when it succeeds.
    void may_come_into_force();
    void came_into_force(Span now);

    // Whether the clinic might be told this by a policy that was in force then or later.
    bool allowed(entry::Kind kind, Span since) const;
    bool allowed_notes(Span since) const;
    // Whether it was to be told this all the time from then on.
    bool always_allowed(entry::Kind kind, Span since) const;

    // At any time.
    bool ever_had_notes() const { return allowed_notes(Span{0}); }
    bool ever_left_notes_out() const;
    bool has_changed() const { return lives_.size() > 1; }

 private:
    struct Life {
        entry::SharingPolicy policy;
        Span until = Span::max();
    };
    entry::SharingPolicy newest_ = everything();
    std::vector<Life> lives_;
};

}  // namespace nightferry::sim
