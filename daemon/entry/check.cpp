#include "daemon/entry/check.hpp"

#include "daemon/entry/check_content.hpp"
#include "daemon/entry/field_reader.hpp"

namespace nightferry::entry {

namespace {

// What tells one event of a household from another when nobody gave it an id.
std::string natural_name(const Entry& entry) {
    std::string name(word_for(entry.kind()));
    const auto add = [&](std::string_view part) {
        name += '|';
        name += part;
    };
    add(entry.person);
    add(to_text(entry.time.at));
    add(entry.by);
    if (const auto* dose = std::get_if<DoseGiven>(&entry.what)) add(dose->medicine);
    if (const auto* dose = std::get_if<DoseNotGiven>(&entry.what)) add(dose->medicine);
    if (const auto* opened = std::get_if<VialOpened>(&entry.what)) add(opened->vial);
    if (const auto* finding = std::get_if<Finding>(&entry.what)) {
        add(word_for(finding->what));
        if (finding->site) {
            add(word_for(finding->site->region));
            add(word_for(finding->site->side));
        }
        add(finding->lesion.value_or(""));
    }
    return name;
}

void read_entry(FieldReader& fields, const Draft& draft, Submission& submission) {
    const auto kind = fields.need_word<Kind>("type");
    Entry entry;
    entry.person = fields.need_person("person");
    const auto time = fields.need_moment("time");
    entry.by = fields.need_carer("by");
    entry.note = fields.note("note");
    entry.identifiers = fields.identifiers("identifiers");
    if (!kind || !read_content(fields, draft, *kind, entry) || !time) return;
    entry.time = *time;
    entry.id = submission.id;
    submission.entry = std::move(entry);
}

std::string_view use_words(const Draft& draft, Action action) {
    if (action == Action::retract) return "a retraction";
    const Field* type = draft.find("type");
    const auto kind = type == nullptr ? std::nullopt : meaning_of_written<Kind>(type->text);
    if (!kind) return {};
    switch (*kind) {
        case Kind::dose_given:
            return "a dose given";
        case Kind::dose_not_given:
            return "a dose not given";
        case Kind::finding:
            return "a finding";
        case Kind::weight:
            return "a weight";
        case Kind::vial_opened:
            return "a vial opened";
        case Kind::summary:
            break;  // Nobody hands one in.
    }
    return "this entry";
}

// Amending and retracting name the entry they mean and say when and by whom.
void read_revision_facts(FieldReader& fields, Submission& submission) {
    if (fields.need("id", "the id of the entry it is about") != nullptr) {
        if (const auto id = fields.id("id")) submission.id = *id;
    }
    submission.recorded = fields.need_moment("recorded", "when it was written down");
    submission.recorded_by = fields.need_carer("recorded_by", "the carer who wrote it down");
    submission.reason = fields.note("reason");
}

void read_record_facts(FieldReader& fields, Submission& submission) {
    if (const auto id = fields.id("id")) submission.id = *id;
    submission.recorded = fields.moment("recorded");
    submission.recorded_by = fields.carer("recorded_by").value_or(std::string());
}

void settle_identity(FieldReader& fields, const Household& household, Submission& submission) {
    if (!submission.entry || fields.has_problems()) return;
    Entry& entry = *submission.entry;
    if (submission.id == EntryId()) submission.id = household.ids().id_for(natural_name(entry));
    entry.id = submission.id;
    if (submission.recorded_by.empty()) submission.recorded_by = entry.by;
    const auto* dose = std::get_if<DoseGiven>(&entry.what);
    if (dose != nullptr && dose->checked_by == entry.by) {
        fields.problem(*fields.take("checked_by"),
                       "the one who gave it cannot be the second person who checked it");
    }
    const bool before_it_happened =
        submission.recorded && submission.recorded->at < entry.time.at - future_allowance;
    if (before_it_happened && entry.kind() != Kind::dose_not_given) {
        fields.problem(*fields.take("recorded"),
                       "it was recorded before it happened; check recorded and time");
    }
}

}  // namespace

Checked check(const Draft& draft, const Household& household, Instant now) {
    FieldReader fields(draft, household, now);
    if (draft.fields.empty() && !draft.problems.empty()) return {std::nullopt, fields.take_problems()};
    Submission submission;
    const auto action = fields.word<Action>("action");
    // Which fields are right depends on the action, so a wrong one is all that can be said.
    if (!action && draft.find("action") != nullptr) return {std::nullopt, fields.take_problems()};
    submission.action = action.value_or(Action::record);
    if (submission.action == Action::record) {
        read_record_facts(fields, submission);
    } else {
        read_revision_facts(fields, submission);
    }
    if (submission.action != Action::retract) read_entry(fields, draft, submission);
    settle_identity(fields, household, submission);
    fields.report_leftovers(use_words(draft, submission.action));
    Checked checked;
    checked.problems = fields.take_problems();
    if (checked.problems.empty()) checked.submission = std::move(submission);
    return checked;
}

std::vector<std::string_view> field_names() {
    return {"action",        "id",          "type",       "person",    "time",     "zone",       "by",
            "recorded",      "recorded_by", "reason",     "note",      "medicine", "amount",     "unit",
            "region",        "side",        "x_cm",       "y_cm",      "vial",     "checked_by", "why",
            "finding",       "present",     "length_cm",  "width_cm",  "pain",     "minutes",    "lesion",
            "dose",          "kg",          "how",        "volume_ml", "lot",      "expires",    "separate",
            "instructed_by", "level",       "identifiers"};
}

}  // namespace nightferry::entry
