#include <algorithm>
#include <map>

#include "daemon/care/fact_words.hpp"
#include "daemon/care/flag_list.hpp"

namespace nightferry::care {

namespace {

using entry::FindingKind;

Decimal in_minutes(std::chrono::minutes span) {
    return Decimal(span.count(), 0);
}

Decimal size_of(const Decimal& number) {
    return number < Decimal() ? Decimal(-number.coefficient(), number.scale()) : number;
}

class BodyFlags {
 public:
    BodyFlags(FlagList& flags, const Review& review, const Plan& plan, const Zone& home)
        : flags_(flags), review_(review), plan_(plan), home_(home) {}

    void looks() {
        for (const Look& look : review_.known.looks) {
            if (!look.finding.present) continue;
            const auto [kind, addition] = kind_of(look);
            last_[look.finding.what] = look.at;
            if (!flags_.wants(kind, look.at)) continue;
            flags_.add(kind, look.id.to_string(), look.at, words(look) + addition + ".", {look.id});
        }
    }

    void lesions() {
        for (const Lesion& lesion : review_.lesions) {
            const Assessment* last = last_measured(lesion);
            if (lesion.resolved || last == nullptr) continue;
            // A new look is a new fact, also when somebody dealt with the last one.
            const std::string subject = last->look.to_string();
            const std::string what = name_of(lesion);
            if (last->persistent_growth) {
                flags_.add(FlagKind::growing_lesion, subject, last->at,
                           what + " grew at two looks in a row, to " + last->area_cm2->to_string() +
                               " cm2 at " + clock_words(home_, last->at) + " (ellipse of length and width).",
                           {last->look});
            }
            if (last->is_large) {
                flags_.add(FlagKind::large_lesion, subject, last->at,
                           what + " measured " + last->length_cm->to_string() + " cm" +
                               (last->area_cm2 ? ", " + last->area_cm2->to_string() + " cm2" : "") + " at " +
                               clock_words(home_, last->at) + ".",
                           {last->look});
            }
        }
    }

    void weights() {
        for (std::size_t i = 1; i < review_.known.weights.size(); ++i) {
            const Weighing& now = review_.known.weights[i];
            const Weighing& before = review_.known.weights[i - 1];
            const auto change = subtract(now.kg, before.kg);
            const auto hundredfold = change ? multiply(*change, Decimal(100, 0)) : std::nullopt;
            const auto percent =
                hundredfold ? divide(*hundredfold, before.kg, 2, Rounding::half_up) : std::nullopt;
            if (!percent || size_of(*percent) < plan_.flags.weight_percent) continue;
            flags_.add(FlagKind::weight_change, now.id.to_string(), now.at,
                       "The weight went from " + before.kg.to_string() + " kg (" +
                           clock_words(home_, before.at) + ") to " + now.kg.to_string() + " kg (" +
                           clock_words(home_, now.at) + "), " + percent->to_string() + " %.",
                       {before.id, now.id});
        }
    }

 private:
    struct Sorted {
        FlagKind kind = FlagKind::other_finding;
        std::string addition;
    };

    Sorted kind_of(const Look& look) const {
        switch (look.finding.what) {
            case FindingKind::head_injury:
                return {FlagKind::head_injury, {}};
            case FindingKind::site_bleeding:
                return bleeding(look, FlagKind::long_bleeding, plan_.flags.bleeding);
            case FindingKind::nosebleed:
                return repeated_or(look, bleeding(look, FlagKind::nosebleed, plan_.flags.nosebleed));
            case FindingKind::gum_bleeding:
                return repeated_or(look, bleeding(look, FlagKind::gum_bleeding, plan_.flags.gum_bleeding));
            case FindingKind::blood_in_urine:
                return {FlagKind::blood_in_urine, {}};
            case FindingKind::dark_stool:
                return {FlagKind::dark_stool, {}};
            case FindingKind::dead_skin:
                return {FlagKind::damaged_skin, {}};
            case FindingKind::infection_signs:
                return {FlagKind::infection_signs, {}};
            case FindingKind::itching:
            case FindingKind::hives:
                return {FlagKind::skin_reaction, {}};
            default:
                return {};
        }
    }

    Sorted bleeding(const Look& look, FlagKind kind, std::chrono::minutes limit) const {
        if (!look.finding.minutes || *look.finding.minutes < in_minutes(limit)) return {};
        return {kind, ", at least the " + std::to_string(limit.count()) + " min that are set here"};
    }

    Sorted repeated_or(const Look& look, Sorted sorted) const {
        const auto before = last_.find(look.finding.what);
        if (before == last_.end() || look.at - before->second > plan_.flags.repeated) return sorted;
        const FlagKind kind =
            look.finding.what == FindingKind::nosebleed ? FlagKind::nosebleed : FlagKind::gum_bleeding;
        return {kind, sorted.addition + ", the second within " + span_words(plan_.flags.repeated)};
    }

    std::string words(const Look& look) const {
        std::string text = finding_words(look.finding.what);
        if (look.finding.what == FindingKind::other && !look.note.empty()) text += " (" + look.note + ")";
        text[0] = static_cast<char>(text[0] - 'a' + 'A');
        if (look.finding.site) text += ", " + zone_words(*look.finding.site);
        text += " at " + clock_words(home_, look.at);
        if (look.finding.minutes) text += ", " + look.finding.minutes->to_string() + " min";
        return text;
    }

    static const Assessment* last_measured(const Lesion& lesion) {
        const auto found =
            std::ranges::find_if(lesion.assessments.rbegin(), lesion.assessments.rend(),
                                 [](const Assessment& one) { return one.length_cm.has_value(); });
        return found == lesion.assessments.rend() ? nullptr : &*found;
    }

    static std::string name_of(const Lesion& lesion) {
        std::string name = "The " + finding_words(lesion.what);
        if (!lesion.label.empty()) name += " " + lesion.label;
        return lesion.site ? name + ", " + zone_words(*lesion.site) + "," : name;
    }

    FlagList& flags_;
    const Review& review_;
    const Plan& plan_;
    const Zone& home_;
    std::map<FindingKind, Instant> last_;
};

}  // namespace

void flag_body(FlagList& flags, const Review& review, const Plan& plan, const entry::Household& household) {
    BodyFlags body(flags, review, plan, household.zone);
    body.looks();
    body.lesions();
    body.weights();
}

}  // namespace nightferry::care
