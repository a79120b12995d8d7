#include "daemon/care/fact_words.hpp"
#include "daemon/care/flag_list.hpp"
#include "daemon/care/result_words.hpp"

namespace nightferry::care {

namespace {

// Finds the doses that notes are about. Notes are in the order of the doses, so one walk finds them all.
class DoseWalk {
 public:
    explicit DoseWalk(const std::vector<DoseRecord>& doses) : next_(doses.begin()) {}

    // `id` is one of the doses, and not before the one asked for last.
    const GivenDose& find(const EntryId& id) {
        while (next_->given.id != id)
            ++next_;
        return next_->given;
    }

 private:
    std::vector<DoseRecord>::const_iterator next_;
};

class PlaceFlags {
 public:
    PlaceFlags(FlagList& flags, const Review& review, const Zone& home)
        : flags_(flags), review_(review), home_(home) {}

    void sites() {
        DoseWalk doses(review_.timeline.doses);
        for (const SiteNote& note : review_.sites) {
            if (note.concern == SiteConcern::spacing_not_assessable) continue;
            const GivenDose& dose = doses.find(note.dose);
            if (!flags_.wants(FlagKind::site, dose.at)) continue;
            std::vector<EntryId> entries{note.dose};
            if (note.other) entries.push_back(*note.other);
            flags_.add(FlagKind::site, note.dose.to_string() + ":" + std::string(word_for(note.concern)),
                       dose.at,
                       "Injection of " + clock_words(home_, dose.at) + ", " + zone_words(dose.site) + ": " +
                           site_words(note) + ".",
                       std::move(entries));
        }
    }

    void vials() {
        DoseWalk doses(review_.timeline.doses);
        for (const VialNote& note : review_.vials.notes) {
            const GivenDose& dose = doses.find(note.dose);
            const bool past =
                note.concern == VialConcern::after_in_use || note.concern == VialConcern::after_expiry;
            const FlagKind kind = past ? FlagKind::vial_past_use : FlagKind::vial_unclear;
            if (!flags_.wants(kind, dose.at)) continue;
            flags_.add(kind, note.dose.to_string() + ":" + std::string(word_for(note.concern)), dose.at,
                       "Dose of " + clock_words(home_, dose.at) + ": " + vial_words(note) + ".", {note.dose});
        }
    }

 private:
    std::string site_words(const SiteNote& note) const {
        const auto distance = [&] {
            return (note.distance_cm ? note.distance_cm->to_string() + " cm"
                                     : std::string("no distance known")) +
                   (note.limit_cm ? ", and " + note.limit_cm->to_string() + " cm are set here"
                                  : std::string());
        };
        const std::string then = note.other_at ? clock_words(home_, *note.other_at) : std::string();
        switch (note.concern) {
            case SiteConcern::near_navel:
                return "from the navel " + distance();
            case SiteConcern::close_to_recent:
                return "from the injection of " + then + " " + distance();
            case SiteConcern::same_side:
                return "the same side as the injection of " + then;
            case SiteConcern::in_bruise:
                return "from the middle of the bruise seen at " + then + " " + distance();
            case SiteConcern::resting:
                return "in the zone of the lump seen at " + then + ", which the settings let rest";
            case SiteConcern::excluded:
                return "the settings exclude this place (" + note.why + ")";
            case SiteConcern::other_region:
                return "not among the regions in the settings";
            case SiteConcern::spacing_not_assessable:
                break;
        }
        return "its distances cannot be told";
    }

    std::string vial_words(const VialNote& note) const {
        const std::string vial = "vial " + note.label;
        const std::string end =
            note.limit ? ", whose use ended at " + clock_words(home_, *note.limit) : std::string();
        switch (note.concern) {
            case VialConcern::unknown:
                return vial + " is not recorded as opened before it";
            case VialConcern::not_named:
                return "no vial is named";
            case VialConcern::other_medicine:
                return vial + " is recorded with another medicine or strength";
            case VialConcern::after_in_use:
                return "drawn from opened " + vial + end;
            case VialConcern::after_expiry:
                return "drawn from " + vial + end + ", its printed date";
            case VialConcern::overdrawn:
                return "more is recorded from " + vial + " than it held";
        }
        return {};
    }

    FlagList& flags_;
    const Review& review_;
    const Zone& home_;
};

}  // namespace

void flag_places(FlagList& flags, const Review& review, const entry::Household& household) {
    PlaceFlags places(flags, review, household.zone);
    places.sites();
    places.vials();
}

}  // namespace nightferry::care
