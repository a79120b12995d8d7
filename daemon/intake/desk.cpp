#include "daemon/intake/desk.hpp"

#include <algorithm>

#include "daemon/entry/check.hpp"

namespace nightferry::intake {

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
    const entry::Reading reading = entry::read(bytes, format);
    Answers answers;
    answers.failure = reading.failure;
    std::vector<logbook::Arrival> arrivals;
    std::vector<std::size_t> answer_of_arrival;
    const Instant now = clock_.now();
    for (const entry::Draft& draft : reading.drafts) {
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
    if (arrivals.empty()) return answers;
    const auto verdicts = logbook_.accept(arrivals, now);
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
                break;
        }
    }
    if (answers.count(Answer::Kind::accepted) > 0) on_recorded_();
    return answers;
}

}  // namespace nightferry::intake
