#include "daemon/intake/desk.hpp"

#include <algorithm>

#include "daemon/entry/check.hpp"
#include "daemon/mapping/read_resources.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

std::string_view word_for(Answer::Kind kind) {
    switch (kind) {
        case Answer::Kind::accepted:
            return "accepted";
        case Answer::Kind::already_there:
            return "already_there";
        case Answer::Kind::conflict:
            return "conflict";
        case Answer::Kind::refused:
            return "refused";
    }
    return {};
}

std::size_t Answers::count(Answer::Kind kind) const {
    return static_cast<std::size_t>(
        std::count_if(answers.begin(), answers.end(), [&](const Answer& one) { return one.kind == kind; }));
}

bool Answers::all_good() const {
    return !failure && count(Answer::Kind::conflict) == 0 && count(Answer::Kind::refused) == 0;
}

std::vector<std::string> Desk::clinics(const entry::Submission& submission) const {
    // A retraction names no person; the ways its entry already has are told by the logbook itself.
    return submission.entry ? clinics_for_(submission.entry->person) : std::vector<std::string>();
}

Result<Answers> Desk::hand_in(std::string_view bytes, entry::Format format, const std::string& source) {
    // Entries have no such member, so that reading twice is rare.
    if (format == entry::Format::json && bytes.find("\"resourceType\"") != std::string_view::npos) {
        std::string_view text = bytes;
        const bool readable = !entry::cannot_be_read(text, {});
        const auto document = json::read(readable ? text : std::string_view());
        if (document && mapping::is_resource(document->root()))
            return read_resources(document->root(), std::nullopt, source);
    }
    const entry::Reading reading = entry::read(bytes, format);
    Answers answers;
    answers.failure = reading.failure;
    const auto judged = judge(reading.drafts, logbook::Bond::each_alone, source, answers);
    if (!judged) return judged.error();
    return answers;
}

Result<Answers> Desk::hand_in_resources(std::string_view bytes, std::optional<fhir::spec::Release> release,
                                        const std::string& source) {
    Answers answers;
    answers.resources.emplace().release = release.value_or(fhir::spec::Release::r4);
    answers.failure = entry::cannot_be_read(bytes, {});
    if (answers.failure) {
        tally(answers, source);
        return answers;
    }
    const auto document = json::read(bytes);
    if (document && mapping::is_resource(document->root()))
        return read_resources(document->root(), release, source);
    answers.failure = document
                          ? entry::Problem{{},
                                           "it has no resourceType, so it is no FHIR resource; entries of "
                                           "our own form are handed in as application/json"}
                          : entry::not_json(document.error(), 0);
    tally(answers, source);
    return answers;
}

Result<Answers> Desk::read_resources(const json::Value& root, std::optional<fhir::spec::Release> release,
                                     const std::string& source) {
    mapping::ResourceReading reading = mapping::read_resources(root, release, household_, acquaintances_);
    Answers answers;
    answers.failure = std::move(reading.failure);
    answers.resources = {reading.release, reading.bundle_type, {}};
    std::vector<entry::Draft> drafts;
    for (mapping::ResourcePart& part : reading.parts) {
        const bool is_entry = part.kind == mapping::ResourcePart::Kind::entry;
        answers.resources->answer_of_part.push_back(is_entry ? std::optional(drafts.size()) : std::nullopt);
        if (is_entry) drafts.push_back(std::move(part.draft));
    }
    if (drafts.empty() && !answers.failure) {
        answers.failure = entry::Problem{{},
                                         "nothing in it becomes an entry; this hub makes entries of "
                                         "MedicationAdministration and Observation"};
    }
    const auto bond =
        reading.bundle_type == "transaction" ? logbook::Bond::all_or_none : logbook::Bond::each_alone;
    const auto judged = judge(drafts, bond, source, answers);
    if (!judged) return judged.error();
    return answers;
}

namespace {

// Of what stands in one transaction with something that was not taken.
void withhold_the_good(Answers& answers) {
    for (Answer& answer : answers.answers) {
        if (!answer.problems.empty()) continue;
        answer = Answer{Answer::Kind::refused, answer.where, {}, 0, true, false, {}};
        answer.problems.push_back(
            {answer.where,
             "not recorded, because another entry of this transaction was not taken; correct that one and "
             "hand in all of them again"});
    }
}

}  // namespace

Result<void> Desk::judge(const std::vector<entry::Draft>& drafts, logbook::Bond bond,
                         const std::string& source, Answers& answers) {
    std::vector<logbook::Arrival> arrivals;
    std::vector<std::size_t> answer_of_arrival;
    const Instant now = clock_.now();
    for (const entry::Draft& draft : drafts) {
        entry::Checked checked = entry::check(draft, household_, now);
        Answer answer;
        answer.where = draft.where;
        if (checked.submission) {
            answer.id = checked.submission->id;
            arrivals.push_back({*checked.submission, source, clinics(*checked.submission)});
            answer_of_arrival.push_back(answers.answers.size());
        } else {
            answer.problems = std::move(checked.problems);
        }
        answers.answers.push_back(std::move(answer));
    }
    const bool some_refused = arrivals.size() < answers.answers.size();
    if (!arrivals.empty() && !(some_refused && bond == logbook::Bond::all_or_none)) {
        const auto accepted = accept(arrivals, answer_of_arrival, bond, now, answers);
        if (!accepted) return accepted.error();
    }
    if (bond == logbook::Bond::all_or_none && !answers.all_good()) withhold_the_good(answers);
    tally(answers, source);
    if (answers.count(Answer::Kind::accepted) > 0) on_recorded_();
    return {};
}

void Desk::tally(const Answers& answers, const std::string& source) {
    auto& tallies = tallies_[source];
    if (answers.failure) ++tallies["unreadable"];
    for (const Answer& answer : answers.answers)
        ++tallies[std::string(word_for(answer.kind))];
}

Result<void> Desk::accept(const std::vector<logbook::Arrival>& arrivals,
                          const std::vector<std::size_t>& answer_of_arrival, logbook::Bond bond, Instant now,
                          Answers& answers) {
    const auto verdicts = logbook_.accept(arrivals, now, bond);
    if (!verdicts) return verdicts.error();
    for (std::size_t i = 0; i < verdicts->size(); ++i) {
        const logbook::Verdict& verdict = (*verdicts)[i];
        Answer& answer = answers.answers[answer_of_arrival[i]];
        answer.revision = verdict.revision;
        switch (verdict.kind) {
            case logbook::Verdict::Kind::add:
                answer.kind = Answer::Kind::accepted;
                answer.is_in_effect = verdict.becomes_current;
                break;
            case logbook::Verdict::Kind::already_there:
                answer.kind = Answer::Kind::already_there;
                answer.is_retracted = verdict.is_retracted;
                break;
            case logbook::Verdict::Kind::conflict:
                answer.kind = Answer::Kind::conflict;
                answer.problems.push_back({answer.where, verdict.words});
                if (answers.resources)
                    answer.problems.back().what +=
                        " (in FHIR an Observation of status amended, or a Provenance with the activity "
                        "UPDATE "
                        "beside the resource, is an amendment)";
                break;
        }
    }
    return {};
}

}  // namespace nightferry::intake
