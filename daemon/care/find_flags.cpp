#include "daemon/care/find_flags.hpp"

#include <algorithm>
#include <tuple>

#include "daemon/care/flag_list.hpp"

namespace nightferry::care {

std::optional<Level> FlagList::level_of(FlagKind kind, Instant about) const {
    const auto set = rules_.levels.find(kind);
    const std::optional<Level> level =
        set == rules_.levels.end()
            ? std::optional(std::ranges::find(flag_defaults(), kind, &FlagDefault::kind)->level)
            : set->second;
    const bool has_passed = level == Level::note && about + rules_.note_days < now_;
    return has_passed ? std::nullopt : level;
}

void FlagList::add(FlagKind kind, const std::string& subject, Instant about, std::string reason,
                   std::vector<EntryId> entries) {
    const auto level = level_of(kind, about);
    if (!level) return;
    flags_.push_back({std::string(word_for(kind)) + ":" + subject, kind, *level, about, std::move(reason),
                      std::move(entries)});
}

std::vector<Flag> FlagList::sorted() {
    std::ranges::sort(flags_, [](const Flag& a, const Flag& b) {
        return std::tie(b.level, b.about, a.key) < std::tie(a.level, a.about, b.key);
    });
    const auto repeated = std::ranges::unique(flags_, {}, &Flag::key);
    flags_.erase(repeated.begin(), repeated.end());
    return std::move(flags_);
}

std::vector<Flag> find_flags(const Review& review, const Plan& plan, const entry::Household& household) {
    FlagList flags(plan.flags, review.known_at);
    flag_doses(flags, review, plan, household);
    flag_body(flags, review, plan, household);
    flag_places(flags, review, household);
    flag_orders(flags, review);
    flag_patients(flags, review.known.left_out);
    return flags.sorted();
}

std::vector<Flag> flags_of_patients(std::span<const LeftOut> left_out, const FlagRules& rules, Instant now) {
    FlagList flags(rules, now);
    flag_patients(flags, left_out);
    return flags.sorted();
}

}  // namespace nightferry::care
