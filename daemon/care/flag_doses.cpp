#include <algorithm>

#include "daemon/care/fact_words.hpp"
#include "daemon/care/flag_list.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::care {

namespace {

// Flags of doses and slots, one function for each thing that can be the matter.
class DoseFlags {
 public:
    DoseFlags(FlagList& flags, const Review& review, const Plan& plan, const entry::Household& household)
        : flags_(flags), review_(review), plan_(plan), home_(household.zone) {}

    void doubles() {
        for (const PossibleDouble& one : review_.timeline.doubles) {
            if (one.decided) continue;
            const GivenDose& earlier = review_.known.doses[one.earlier];
            const GivenDose& later = review_.known.doses[one.later];
            const bool same = one.kind == DoubleKind::duplicate_entry;
            flags_.add(FlagKind::possible_double, later.id.to_string(), later.at,
                       "Two doses are recorded " + span_words(later.at - earlier.at) + " apart, " +
                           clock_words(home_, earlier.at) + " and " + clock_words(home_, later.at) + ": " +
                           (same ? "perhaps one dose written down twice"
                                 : "perhaps two injections, perhaps one written down twice") +
                           ". The later one is in no figure until the entry itself says which: by being "
                           "retracted, or amended with "
                           "separate.",
                       {earlier.id, later.id});
        }
    }

    void slots() {
        for (const SlotRecord& record : review_.timeline.slots) {
            const Instant due = record.slot.due.at;
            if (record.fate == SlotFate::missed) {
                flags_.add(FlagKind::missed_dose, record.declared->to_string(), due,
                           "The dose of " + clock_words(home_, due) + " is recorded as not given (" +
                               why_words(*record.why) + ").",
                           {*record.declared});
            } else if (record.fate == SlotFate::no_record) {
                flags_.add(FlagKind::no_record, to_text(due), due,
                           "Nothing is recorded for the dose of " + clock_words(home_, due) +
                               ". That does not say that it was not given.",
                           {});
            }
        }
    }

    void doses() {
        for (std::size_t i = 0; i < review_.timeline.doses.size(); ++i) {
            const DoseRecord& dose = review_.timeline.doses[i];
            if (dose.slot) {
                timing(dose);
                amount(dose, *review_.doses[i].check);
            } else {
                unmatched(dose);
            }
            lag(dose.given);
        }
    }

    void unreadable() {
        for (const EntryId& id : review_.known.unreadable)
            flags_.add(FlagKind::unreadable_dose, id.to_string(), review_.known_at,
                       "An entry is in no figure: it cannot be read any more, or the settings no longer name "
                       "its medicine, or not with this unit.",
                       {id});
    }

 private:
    void unmatched(const DoseRecord& dose) {
        // Before the first order nothing is known of what was ordered.
        const auto& slots = review_.timeline.slots;
        if (slots.empty() || dose.given.at < slots.front().slot.due.at - plan_.timeline.match.early_max)
            return;
        const std::string amount = amount_words(dose.given.amount, dose.given.size);
        const std::string when = clock_words(home_, dose.given.at);
        if (dose.while_held) {
            flags_.add(FlagKind::given_while_held, dose.given.id.to_string(), dose.given.at,
                       amount + " at " + when + ", where the clinic had said to leave the dose out.",
                       {dose.given.id});
            return;
        }
        flags_.add(FlagKind::extra_dose, dose.given.id.to_string(), dose.given.at,
                   amount + " at " + when + " belongs to no scheduled dose.", {dose.given.id});
    }

    void timing(const DoseRecord& dose) {
        if (dose.timing == Timing::on_time) return;
        const bool early = dose.timing == Timing::early;
        const FlagKind kind = early ? FlagKind::early_dose : FlagKind::late_dose;
        if (!flags_.wants(kind, dose.given.at)) return;
        const auto deviation = review_.timeline.deviation_of(dose);
        flags_.add(kind, dose.given.id.to_string(), dose.given.at,
                   "Given at " + clock_words(home_, dose.given.at) + ", " + span_words(deviation) +
                       (early ? " before" : " after") + " the time ordered.",
                   {dose.given.id});
    }

    void amount(const DoseRecord& dose, const AmountCheck& check) {
        if (check.verdict == AmountVerdict::match) return;
        const SlotRecord& slot = review_.timeline.slots[*dose.slot];
        const std::string given = amount_words(dose.given.amount, dose.given.size);
        const std::string ordered = content_words(slot.ordered.content, slot.ordered.unit);
        const std::string subject = dose.given.id.to_string() + ":" + dose.given.amount.value.to_string() +
                                    std::string(entry::word_for(dose.given.amount.unit));
        switch (check.verdict) {
            case AmountVerdict::match:
                return;
            case AmountVerdict::not_comparable:
                flags_.add(FlagKind::other_medicine, subject, dose.given.at,
                           given + " of " + dose.given.medicine + " recorded where " + ordered + " of " +
                               slot.medicine + " was ordered; the two are not compared.",
                           {dose.given.id});
                return;
            case AmountVerdict::deviates:
            case AmountVerdict::large:
            case AmountVerdict::possible_tenfold:
                break;
        }
        const std::string part = check.percent ? ", " + check.percent->to_string() + " % of the order" : "";
        const std::string slip = check.verdict == AmountVerdict::possible_tenfold
                                     ? ". A decimal point may be in the wrong place."
                                     : ".";
        flags_.add(check.verdict == AmountVerdict::deviates ? FlagKind::amount_differs
                                                            : FlagKind::amount_far_from_order,
                   subject, dose.given.at,
                   given + " recorded where " + ordered + " was ordered" + part + slip, {dose.given.id});
    }

    void lag(const GivenDose& dose) {
        const auto lag = dose.recorded - dose.at;
        if (lag <= plan_.flags.entry_lag) return;
        flags_.add(FlagKind::late_entry, dose.id.to_string(), dose.recorded,
                   "The dose of " + clock_words(home_, dose.at) + " was written down " + span_words(lag) +
                       " afterwards.",
                   {dose.id});
    }

    FlagList& flags_;
    const Review& review_;
    const Plan& plan_;
    const Zone& home_;
};

}  // namespace

void flag_doses(FlagList& flags, const Review& review, const Plan& plan, const entry::Household& household) {
    DoseFlags dose_flags(flags, review, plan, household);
    dose_flags.doubles();
    dose_flags.slots();
    dose_flags.doses();
    dose_flags.unreadable();
}

}  // namespace nightferry::care
