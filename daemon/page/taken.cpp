#include "daemon/page/taken.hpp"

#include <algorithm>

namespace nightferry::page {

namespace {

bool is_open(const care::SlotRecord& slot) {
    return slot.fate == care::SlotFate::due || slot.fate == care::SlotFate::no_record;
}

}  // namespace

std::optional<Instant> instant_in(const Typed& typed, const Zone& zone, Instant now) {
    if (typed.value("when") == "now") return now;
    const auto written = parse_time(typed.value("time"));
    if (!written) return std::nullopt;
    const auto read = zone.read(written->local);
    const auto* moment = std::get_if<Moment>(&read);
    return moment == nullptr ? std::nullopt : std::optional(moment->at);
}

std::optional<Taken> taken_at(const Facts& facts, Instant at) {
    if (!facts.review) return std::nullopt;
    const auto& timeline = facts.review->timeline;
    const auto& limits = facts.plan->timeline.match;
    const care::SlotRecord* nearest = nullptr;
    for (const care::SlotRecord& slot : timeline.slots) {
        const Instant due = slot.slot.due.at;
        const bool is_near = at >= due - limits.early_max && at <= due + limits.late_max;
        const bool is_nearer =
            nearest == nullptr || std::chrono::abs(at - due) < std::chrono::abs(at - nearest->slot.due.at);
        if (is_near && is_nearer) nearest = &slot;
    }
    if (nearest == nullptr || is_open(*nearest)) return std::nullopt;
    return Taken{*nearest,
                 nearest->dose ? std::optional(timeline.doses[*nearest->dose].given) : std::nullopt};
}

}  // namespace nightferry::page
