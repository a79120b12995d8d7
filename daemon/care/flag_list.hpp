// Collects flags with the levels that a clinic set. Used by the parts of find_flags().
#pragma once

#include <span>
#include <string>
#include <vector>

#include "daemon/care/review.hpp"

namespace nightferry::care {

class FlagList {
 public:
    FlagList(const FlagRules& rules, Instant now) : rules_(rules), now_(now) {}

    // Whether such a flag would be kept: not when the clinic does not want it raised, nor when it is a note
    // about what has long passed. Asked first where there may be very many.
    bool wants(FlagKind kind, Instant about) const { return level_of(kind, about).has_value(); }

    // `subject` tells flags of one kind apart. What is not wanted is left out.
    void add(FlagKind kind, const std::string& subject, Instant about, std::string reason,
             std::vector<EntryId> entries);

    // The most urgent first, then the newest.
    std::vector<Flag> sorted();

 private:
    std::optional<Level> level_of(FlagKind kind, Instant about) const;

    const FlagRules& rules_;
    Instant now_;
    std::vector<Flag> flags_;
};

// What the review's doses and slots give reason for.
void flag_doses(FlagList& flags, const Review& review, const Plan& plan, const entry::Household& household);
// Its findings, lesions and weights.
void flag_body(FlagList& flags, const Review& review, const Plan& plan, const entry::Household& household);
// Its sites and vials.
void flag_places(FlagList& flags, const Review& review, const entry::Household& household);
// What clinics list as ordered.
void flag_orders(FlagList& flags, const Review& review);
// Where it is not clear which patient a clinic means.
void flag_patients(FlagList& flags, std::span<const LeftOut> left_out);

}  // namespace nightferry::care
