// The part of Pages about entries that are there: what became of them, amending and taking back.
#include "daemon/entry/body.hpp"
#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/page/answers.hpp"
#include "daemon/page/pages.hpp"

namespace nightferry::page {

namespace {

std::string address_of(const entry::Entry& entry) {
    return std::string(entries_path) + entry.id.to_string();
}

}  // namespace

// A form that is sent once more says the same again, and only its moment differs.
bool Pages::is_newest(const std::string& json, const logbook::EntryRecord& record) const {
    const entry::Submission& newest = record.current.submission;
    const entry::Reading reading = entry::read(json, entry::Format::json);
    if (newest.action != entry::Action::amend || reading.drafts.size() != 1) return false;
    auto checked = entry::check(reading.drafts.front(), parts_.household, parts_.clock.now());
    if (!checked.submission) return false;
    checked.submission->recorded = newest.recorded;
    return entry::to_body(*checked.submission) == entry::to_body(newest);
}

std::optional<Hand> Pages::hand_for(const Typed& typed, const std::string& carer) const {
    Typed now = typed;
    now.set("when", "now");
    const auto at = meant_by_now(now, std::nullopt);
    if (!at) return std::nullopt;
    return Hand{carer, to_text(parts_.household.zone.at(*at))};
}

HttpAnswer Pages::entry(const HttpRequest& request, const std::string& carer) {
    std::string_view rest = path_of(request.target).substr(entries_path.size());
    const auto slash = rest.find('/');
    const auto id = EntryId::parse(rest.substr(0, slash));
    if (!id) return message(404, T::not_found);
    const auto record = parts_.logbook.find(*id);
    if (!record) return failure(record.error());
    if (!*record) return message(404, T::not_found);
    const std::string_view what = slash == std::string_view::npos ? std::string_view() : rest.substr(slash);
    if (what == "/amend") return amend(request, **record, carer);
    if (what == "/retract") return retract(request, **record, carer);
    if (!what.empty() || request.method == "POST") return message(404, T::not_found);
    const auto news = query_value(request.target, "news");
    return page(200, entry_view(backdrop(), **record,
                                news ? std::optional(*news == "again" ? T::recorded_before : T::recorded)
                                     : std::nullopt));
}

HttpAnswer Pages::amend(const HttpRequest& request, const logbook::EntryRecord& record,
                        const std::string& carer) {
    const entry::Entry& content = record.current.content;
    if (!has_form(content)) return message(404, T::not_found);
    const auto facts = facts_of(content.person);
    if (!facts) return failure(facts.error());
    if (request.method != "POST")
        return page(200,
                    amend_view(backdrop(), *facts, record, typed_of(content, parts_.household.zone), {}));
    auto typed = Typed::read(request.body);
    if (!typed) return message(400, T::not_readable);
    keep_unshown(*typed, content, parts_.household.zone);
    const auto hand = hand_for(*typed, carer);
    if (!hand)
        return page(422, amend_view(backdrop(), *facts, record, *typed, {speaker_.say(T::when_unclear)}));
    const std::string json = amendment_of(*typed, entry::word_for(content.kind()), *hand);
    if (is_newest(json, record)) return see(address_of(content) + "?news=again");
    Outcome outcome = hand_in(json);
    if (outcome.failure) return std::move(*outcome.failure);
    if (outcome.problems.empty()) return see(std::move(outcome.address));
    return page(422, amend_view(backdrop(), *facts, record, *typed, outcome.problems));
}

HttpAnswer Pages::retract(const HttpRequest& request, const logbook::EntryRecord& record,
                          const std::string& carer) {
    if (request.method != "POST") return page(200, retract_view(backdrop(), record, {}, {}));
    auto typed = Typed::read(request.body);
    if (!typed) return message(400, T::not_readable);
    typed->set("id", record.current.content.id.to_string());
    const bool is_retracted = record.current.action() == entry::Action::retract;
    if (is_retracted) return see(address_of(record.current.content) + "?news=again");
    const auto hand = hand_for(*typed, carer);
    if (!hand) return page(422, retract_view(backdrop(), record, *typed, {speaker_.say(T::when_unclear)}));
    Outcome outcome = hand_in(retraction_of(*typed, *hand));
    if (outcome.failure) return std::move(*outcome.failure);
    if (outcome.problems.empty()) return see(std::move(outcome.address));
    return page(422, retract_view(backdrop(), record, *typed, outcome.problems));
}

}  // namespace nightferry::page
