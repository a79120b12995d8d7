#include "daemon/entry/check_content.hpp"

#include <algorithm>

namespace nightferry::entry {

namespace {

// What a hand, a syringe or a ruler can produce at all. These keep typing slips of the wrong field out; they
// are no clinical limits.
const Range millilitres{Decimal(1, 3), Decimal(20, 0), " mL"};
const Range milligrams{Decimal(1, 2), Decimal(1000, 0), " mg"};
const Range international_units{Decimal(1, 0), Decimal(200'000, 0), " IU"};
const Range grid_cm{Decimal(-60, 0), Decimal(60, 0), " cm"};
const Range size_cm{Decimal(0, 0), Decimal(100, 0), " cm"};
const Range body_kg{Decimal(3, 1), Decimal(500, 0), " kg"};
const Range pain_score{Decimal(0, 0), Decimal(10, 0), ""};
const Range lasting_minutes{Decimal(0, 0), Decimal(10'080, 0), " min"};
const Range vial_ml{Decimal(1, 1), Decimal(100, 0), " mL"};

const Range& range_of(Unit unit) {
    switch (unit) {
        case Unit::millilitre:
            return millilitres;
        case Unit::milligram:
            return milligrams;
        case Unit::international_unit:
            return international_units;
    }
    return millilitres;
}

// "0.1x" with a unit field of its own is a number gone wrong, not an amount with the unit x.
bool is_broken_number(const Field& amount, std::size_t behind_number, const Draft& draft) {
    const std::string_view rest = trimmed(std::string_view(amount.text).substr(behind_number));
    return !meaning_of<Unit>(rest) && amount.text[behind_number] != ' ' && draft.find("unit") != nullptr;
}

// "0.18 mL" in one field, or 0.18 with the unit in its own.
std::optional<Amount> read_amount(FieldReader& fields, const Draft& draft) {
    const Field* amount = fields.need("amount", "how much was given, like 0.18 with unit mL");
    if (amount == nullptr) {
        fields.take("unit");
        return std::nullopt;
    }
    const auto behind_number = amount->text.find_first_not_of("0123456789.,-");
    if (behind_number == 0) {
        fields.take("unit");
        fields.problem(*amount, in_quotes(amount->text) + " is not an amount; write it like 0.18 mL");
        return std::nullopt;
    }
    if (behind_number == std::string::npos || is_broken_number(*amount, behind_number, draft)) {
        const auto unit = fields.need_word<Unit>("unit");
        if (!unit) return std::nullopt;
        const auto value = fields.decimal("amount", range_of(*unit));
        if (!value) return std::nullopt;
        if (*unit == Unit::international_unit && value->scale() > 0) {
            fields.problem(*amount, in_quotes(amount->text) +
                                        " IU: a part of a unit cannot be measured, and thousands are "
                                        "written without a mark; write IU as a whole number");
            return std::nullopt;
        }
        return Amount{*value, *unit};
    }
    if (const Field* second = fields.take("unit")) {
        fields.problem(*second, "the amount already carries its unit; leave one of them out");
        return std::nullopt;
    }
    Draft split;
    split.where = draft.where;
    split.fields = {
        {"amount", amount->text.substr(0, behind_number), amount->where},
        {"unit", std::string(trimmed(std::string_view(amount->text).substr(behind_number))), amount->where}};
    FieldReader parts(split, fields.household(), Instant{});
    const auto found = read_amount(parts, split);
    for (Problem& one : parts.take_problems())
        fields.problem(*amount, std::move(one.what));
    return found;
}

bool names_a_site(const Draft& draft) {
    return draft.find("region") != nullptr || draft.find("side") != nullptr ||
           draft.find("x_cm") != nullptr || draft.find("y_cm") != nullptr || draft.find("level") != nullptr;
}

// Above or below the navel: said once, and only where there is a navel.
std::optional<Level> read_level(FieldReader& fields, const std::optional<Region>& region) {
    const auto level = fields.word<Level>("level");
    if (!level) return std::nullopt;
    if (fields.take("y_cm") != nullptr) {
        fields.problem(*fields.take("level"), "y_cm says already how high it is; leave level out");
    } else if (region && *region != Region::abdomen) {
        fields.problem(*fields.take("level"), "only the abdomen has a level; leave it out");
    }
    return level;
}

std::optional<Site> read_site(FieldReader& fields) {
    const auto region = fields.need_word<Region>("region");
    const auto side = fields.need_word<Side>("side");
    const auto x = fields.decimal("x_cm", grid_cm);
    const auto y = fields.decimal("y_cm", grid_cm);
    if (fields.take("x_cm") != nullptr && fields.take("y_cm") == nullptr) {
        fields.problem(*fields.take("x_cm"), "x_cm without y_cm is half a place; give both or neither");
    } else if (fields.take("y_cm") != nullptr && fields.take("x_cm") == nullptr) {
        fields.problem(*fields.take("y_cm"), "y_cm without x_cm is half a place; give both or neither");
    }
    const auto level = read_level(fields, region);
    if (!region || !side) return std::nullopt;
    // On the abdomen x itself says the side, so the two can contradict each other.
    if (*region == Region::abdomen && x && !x->is_zero() && (*x > Decimal()) != (*side == Side::left)) {
        fields.problem(*fields.take("x_cm"), in_quotes(x->to_string()) + " lies on the person's " +
                                                 (*side == Side::left ? "right" : "left") +
                                                 ", but side says the other; x counts to the person's left");
        return std::nullopt;
    }
    return Site{*region, *side, x, y, level};
}

std::optional<DoseGiven> read_dose_given(FieldReader& fields, const Draft& draft) {
    DoseGiven dose;
    dose.medicine = fields.need_medicine("medicine");
    const auto amount = read_amount(fields, draft);
    const auto site = read_site(fields);
    dose.vial = fields.label("vial");
    dose.checked_by = fields.carer("checked_by");
    dose.separate = fields.yes_or_no("separate").value_or(false);
    if (!amount || !site) return std::nullopt;
    dose.amount = *amount;
    dose.site = *site;
    const entry::Medicine* medicine = fields.household().medicine(dose.medicine);
    if (medicine != nullptr && amount->unit != Unit::millilitre && amount->unit != medicine->strength_unit) {
        fields.problem(*fields.take("amount"), "found " + std::string(word_for(amount->unit)) +
                                                   ", but this medicine is measured in mL or " +
                                                   std::string(word_for(medicine->strength_unit)) +
                                                   "; units are never converted into each other");
    }
    return dose;
}

// 'other' names nothing, so the note has to. A note that was given but cannot be read is told about already.
void need_note_for_other(FieldReader& fields, const Draft& draft, std::string_view name) {
    const Field* note = fields.take("note");
    const bool unreadable =
        std::find(draft.unreadable.begin(), draft.unreadable.end(), "note") != draft.unreadable.end();
    if (unreadable || (note != nullptr && !trimmed(note->text).empty())) return;
    const Field* field = fields.take(name);
    fields.problem(*field,
                   "'other' alone does not say what it was; choose a word that does, or say it in note");
}

std::optional<DoseNotGiven> read_dose_not_given(FieldReader& fields, const Draft& draft) {
    DoseNotGiven dose;
    dose.medicine = fields.need_medicine("medicine");
    const auto why = fields.need_word<WhyNotGiven>("why");
    dose.instructed_by = fields.label("instructed_by");
    if (!why) return std::nullopt;
    if (dose.instructed_by && *why != WhyNotGiven::clinic_hold) {
        fields.problem(
            *fields.take("instructed_by"),
            "only goes with why clinic_hold: it names who at the clinic said to leave the dose out");
    }
    if (*why == WhyNotGiven::other) need_note_for_other(fields, draft, "why");
    dose.why = *why;
    return dose;
}

void read_size(FieldReader& fields, Finding& finding) {
    finding.length_cm = fields.decimal("length_cm", size_cm);
    finding.width_cm = fields.decimal("width_cm", size_cm);
    if (finding.width_cm && fields.take("length_cm") == nullptr) {
        fields.problem(*fields.take("width_cm"),
                       "width_cm without length_cm; give length_cm too, the longest measure");
    } else if (finding.width_cm && finding.length_cm && *finding.width_cm > *finding.length_cm) {
        fields.problem(*fields.take("width_cm"),
                       in_quotes(finding.width_cm->to_string()) +
                           " is more than length_cm; length is the longest measure, width goes across it");
    }
}

void read_presence(FieldReader& fields, Finding& finding) {
    const auto present = fields.yes_or_no("present");
    const bool gone = finding.length_cm && finding.length_cm->is_zero();
    finding.present = present.value_or(!gone);
    if (finding.present && gone) {
        fields.problem(*fields.take("length_cm"),
                       "a length of 0 says that it has gone, but present says yes");
    }
    for (const char* name : {"pain", "minutes"}) {
        const Field* field = finding.present ? nullptr : fields.take(name);
        if (field != nullptr)
            fields.problem(*field, "present says no, so there is nothing to measure; leave it out");
    }
    if (!finding.present && finding.length_cm && !gone) {
        fields.problem(*fields.take("length_cm"),
                       "present says no, but there is a length; leave it out or write 0");
    }
}

std::optional<Finding> read_finding(FieldReader& fields, const Draft& draft) {
    Finding finding;
    const auto what = fields.need_word<FindingKind>("finding");
    read_size(fields, finding);
    read_presence(fields, finding);
    finding.pain = fields.decimal("pain", pain_score);
    if (finding.pain && finding.pain->trimmed().scale() != 0) {
        fields.problem(*fields.take("pain"),
                       in_quotes(finding.pain->to_string()) + " is not a whole number from 0 to 10");
    }
    finding.minutes = fields.decimal("minutes", lasting_minutes);
    finding.lesion = fields.label("lesion");
    finding.dose = fields.id("dose");
    const Place place = what ? place_of(*what) : Place::either;
    if (place == Place::elsewhere) {
        for (const char* name : {"region", "side", "level", "x_cm", "y_cm", "length_cm", "width_cm"}) {
            const Field* field = fields.take(name);
            if (field == nullptr) continue;
            fields.problem(*field, "this finding is not at an injection site, so it has no " + field->name +
                                       "; leave it out");
        }
    } else if (place == Place::at_a_site || names_a_site(draft)) {
        finding.site = read_site(fields);
    }
    if (!what) return std::nullopt;
    if (*what == FindingKind::other) need_note_for_other(fields, draft, "finding");
    finding.what = *what;
    return finding;
}

std::optional<Weight> read_weight(FieldReader& fields, const Draft&) {
    const auto kg = fields.need_decimal("kg", body_kg);
    const bool how_was_given = fields.take("how") != nullptr;
    const auto how = fields.word<HowWeighed>("how");
    if (!kg || (how_was_given && !how)) return std::nullopt;
    return Weight{*kg, how.value_or(HowWeighed::measured)};
}

std::optional<VialOpened> read_vial_opened(FieldReader& fields, const Draft&) {
    VialOpened opened;
    opened.medicine = fields.need_medicine("medicine");
    opened.vial = fields.need_label("vial", "the label you gave this vial, like V3");
    opened.volume_ml = fields.decimal("volume_ml", vial_ml);
    opened.lot = fields.label("lot");
    opened.expires = fields.printed_date("expires");
    return opened;
}

template <class T>
bool put(Entry& entry, std::optional<T> what) {
    if (!what) return false;
    entry.what = std::move(*what);
    return true;
}

}  // namespace

bool read_content(FieldReader& fields, const Draft& draft, Kind kind, Entry& entry) {
    switch (kind) {
        case Kind::dose_given:
            return put(entry, read_dose_given(fields, draft));
        case Kind::dose_not_given:
            return put(entry, read_dose_not_given(fields, draft));
        case Kind::finding:
            return put(entry, read_finding(fields, draft));
        case Kind::weight:
            return put(entry, read_weight(fields, draft));
        case Kind::vial_opened:
            return put(entry, read_vial_opened(fields, draft));
        case Kind::summary:
            break;  // Nobody hands one in.
    }
    return false;
}

}  // namespace nightferry::entry
