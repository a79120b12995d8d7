#include "tests/sim/diary.hpp"

namespace nightferry::sim {

namespace {

using namespace std::chrono_literals;

Decimal hundredths(std::uint64_t value) {
    return Decimal(static_cast<std::int64_t>(value), 2);
}

Moment moment(Instant at) {
    return {std::chrono::floor<std::chrono::seconds>(at), 0min};
}

}  // namespace

const entry::Household& family_household() {
    static const entry::Household home{
        "sim-home",
        *Zone::find("Europe/Dublin"),
        {{"juniper", "Juniper Exampleton-Test"}},
        {{"marlow", "Marlow Exampleton", ""}, {"tove", "Tove Exampleton", ""}},
        {{"enoxaparin-100", "enoxaparin", Decimal(100, 0), entry::Unit::milligram}}};
    return home;
}

EntryId Diary::any() {
    return ids_[dice_.below(ids_.size())];
}

entry::Submission Diary::write(Instant now, Span since, const Temper& temper) {
    entry::Submission submission;
    submission.action = entry::Action::record;
    submission.id = family_household().ids().id_for("sim:" + std::to_string(ids_.size()));
    submission.recorded = moment(now);
    submission.recorded_by = dice_.below(2) == 0 ? "marlow" : "tove";
    entry::Entry content;
    content.id = submission.id;
    content.person = "juniper";
    content.time = moment(now - std::chrono::minutes{dice_.below(90)});
    content.by = submission.recorded_by;
    const entry::Site thigh{
        entry::Region::thigh, dice_.below(2) == 0 ? entry::Side::left : entry::Side::right, {}, {}};
    switch (ids_.empty() ? 0 : dice_.below(5)) {
        case 0:
        case 1:
        case 2: {
            entry::DoseGiven dose;
            dose.medicine = "enoxaparin-100";
            dose.amount = {hundredths(10 + dice_.below(20)), entry::Unit::millilitre};
            dose.site = thigh;
            content.what = dose;
            break;
        }
        case 3: {
            entry::Finding finding;
            finding.what = entry::FindingKind::bruise;
            finding.site = thigh;
            finding.length_cm = hundredths(50 + dice_.below(300));
            finding.dose = any();
            content.what = finding;
            break;
        }
        default:
            content.what = entry::Weight{hundredths(1500 + dice_.below(500)), entry::HowWeighed::measured};
            break;
    }
    Known known;
    known.since = since;
    if (ids_.size() % 3 == 0) content.note = std::string(note_text);
    known.refused = temper.refused && dice_.below(8) == 0;
    known.breaking = !known.refused && temper.breaking && dice_.below(12) == 0;
    if (known.refused) content.note = std::string(refused_word);
    if (known.breaking) content.note = std::string(breaking_word);
    submission.entry = std::move(content);
    known.said.push_back(submission);
    ids_.push_back(submission.id);
    entries_.emplace(submission.id, std::move(known));
    return submission;
}

std::optional<entry::Submission> Diary::amend(Instant now, bool retract) {
    if (ids_.empty()) return std::nullopt;
    Known& known = entries_.at(any());
    if (known.retracted) return std::nullopt;
    entry::Submission next = known.said.back();
    // Whoever corrects something knows what was written down before.
    next.recorded = moment(std::max(now, known.said.back().recorded->at + 1s));
    next.recorded_by = "tove";
    next.reason = std::string(reason_text);
    next.action = retract ? entry::Action::retract : entry::Action::amend;
    if (retract) {
        next.entry.reset();
        known.retracted = true;
    } else if (auto* dose = std::get_if<entry::DoseGiven>(&next.entry->what)) {
        dose->amount.value = hundredths(10 + dice_.below(20));
    } else if (auto* weight = std::get_if<entry::Weight>(&next.entry->what)) {
        weight->kg = hundredths(1500 + dice_.below(500));
    } else {
        std::get<entry::Finding>(next.entry->what).length_cm = hundredths(50 + dice_.below(300));
    }
    known.said.push_back(next);
    return next;
}

std::optional<entry::Submission> Diary::repeat() {
    if (ids_.empty()) return std::nullopt;
    const Known& known = entries_.at(any());
    if (known.acknowledged == 0) return std::nullopt;
    return known.said[dice_.below(static_cast<std::uint64_t>(known.acknowledged))];
}

void Diary::acknowledged(const EntryId& id, std::int64_t revision) {
    Known& known = entries_.at(id);
    known.acknowledged = std::max(known.acknowledged, revision);
}

}  // namespace nightferry::sim
