#include "daemon/page/pages.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include "daemon/entry/vocabulary.hpp"
#include "daemon/page/answers.hpp"
#include "daemon/page/assets.hpp"
#include "daemon/page/taken.hpp"

namespace nightferry::page {

namespace {

constexpr std::chrono::days shown_days{14};
constexpr std::size_t entries_looked_at = 60;
constexpr std::chrono::days kept_max{30};  // As long as a phone may keep what it could not send.
constexpr std::chrono::minutes clocks_apart_max{5};
// Full minutes: what a person means by "now".
std::string minute(const Zone& zone, Instant now) {
    return to_text(zone.at(std::chrono::floor<std::chrono::minutes>(now)));
}

bool is_settled(const care::FlagHistory& history, const std::string& key) {
    const auto events = history.find(key);
    return events != history.end() && events->second.back().what == care::FlagEventKind::settled;
}

std::vector<std::string> words_of(const std::vector<entry::Problem>& problems) {
    std::vector<std::string> words;
    for (const entry::Problem& problem : problems)
        words.push_back(problem.what);
    return words;
}

}  // namespace

struct Pages::Form {
    std::string_view path;
    std::string_view kind;  // Of the entry format.
    std::string (*view)(const Backdrop&, const Facts&, const Typed&, const Problems&,
                        const std::optional<Taken>&);
};

const std::vector<Pages::Form>& Pages::forms() {
    static const std::vector<Form> all{
        {"/dose", "dose_given", &dose_view},
        {"/not-given", "dose_not_given", &not_given_view},
        {"/finding", "finding",
         [](const Backdrop& at, const Facts& facts, const Typed& typed, const Problems& problems,
            const std::optional<Taken>&) { return finding_view(at, facts, typed, problems); }},
        {"/vial", "vial_opened",
         [](const Backdrop& at, const Facts& facts, const Typed& typed, const Problems& problems,
            const std::optional<Taken>&) { return vial_view(at, facts, typed, problems); }},
    };
    return all;
}

HttpAnswer Pages::answer(const HttpRequest& request, const Device& phone) {
    phone_ = phone.id;
    const std::string& carer = phone.carer;
    const std::string_view path = path_of(request.target);
    const bool get = request.method == "GET" || request.method == "HEAD";
    const bool post = request.method == "POST";
    if (path == "/" && get) return start(request);
    const auto form = std::ranges::find(forms(), path, &Form::path);
    if (form != forms().end() && get) return blank(*form, request, carer);
    if (form != forms().end() && post) return record(*form, request, carer);
    if (path.starts_with(entries_path) && (get || post)) return entry(request, carer);
    return message(404, T::not_found);
}

std::optional<HttpAnswer> Pages::asset(const HttpRequest& request) {
    const std::string_view path = path_of(request.target);
    struct Asset {
        std::string_view path;
        const char* type;
        const std::string_view& content;
    };
    static const std::array assets{Asset{"/page.css", "text/css; charset=utf-8", style_sheet},
                                   Asset{"/page.js", "text/javascript; charset=utf-8", script},
                                   Asset{"/page.svg", "image/svg+xml", icon}};
    const auto* const found = std::ranges::find(assets, path, &Asset::path);
    if (found == assets.end()) return std::nullopt;
    HttpAnswer answer = page(200, std::string(found->content));
    answer.headers.front().second = found->type;
    return answer;
}

HttpAnswer Pages::outside(int status, Outside why) {
    phone_.clear();
    switch (why) {
        case Outside::not_paired:
            return page(status, pair_view(backdrop(), std::nullopt));
        case Outside::wrong_code:
            return page(status, pair_view(backdrop(), T::code_refused));
        case Outside::locked:
            return page(status, pair_view(backdrop(), T::wait_a_minute));
        case Outside::not_from_here:
            return message(status, T::not_from_here);
        case Outside::no_room:
            return message(status, T::no_room);
        case Outside::failed:
            break;
    }
    return message(status, T::failed);
}

HttpAnswer Pages::start(const HttpRequest& request) {
    const auto person = person_of(request);
    if (!person) return page(200, people_view(backdrop()));
    const auto facts = facts_of(*person);
    if (!facts) return failure(facts.error());
    const auto crossings = parts_.crossings();
    if (!crossings) return failure(crossings.error());
    return page(200, start_view(backdrop(), *facts, *crossings));
}

HttpAnswer Pages::blank(const Form& form, const HttpRequest& request, const std::string& carer) {
    const auto person = person_of(request);
    if (!person) return page(200, people_view(backdrop()));
    const auto facts = facts_of(*person);
    if (!facts) return failure(facts.error());
    const Typed typed = blank_dose(*facts, backdrop(), carer, new_id());
    // Said before anybody types.
    const auto taken = taken_by(form, *facts, typed, parts_.clock.now());
    return page(200, form.view(backdrop(), *facts, typed, {}, taken));
}

HttpAnswer Pages::record(const Form& form, const HttpRequest& request, const std::string& carer) {
    auto typed = Typed::read(request.body);
    const bool is_whom_known = typed && parts_.household.person(typed->value("person")) != nullptr;
    if (!is_whom_known) return message(400, T::not_readable);
    const auto facts = facts_of(typed->value("person"));
    if (!facts) return failure(facts.error());
    const auto show = [&](int status, const Problems& problems, const std::optional<Taken>& taken) {
        return page(status, form.view(backdrop(), *facts, *typed, problems, taken));
    };
    const auto there = find(typed->value("id"));
    const auto now = meant_by_now(*typed, there);
    if (!now) {
        typed->set("when", "then");
        typed->set("typed_at", "");
        return show(422, {speaker_.say(T::when_unclear)}, {});
    }
    // The same one once more is no other dose.
    const auto taken = there ? std::nullopt : taken_by(form, *facts, *typed, *now);
    const bool is_even_so = typed->has("even_so");
    if (taken && !is_even_so) {
        // What somebody says by recording it all the same.
        typed->set("separate", form.kind == "dose_given" && taken->dose ? "yes" : "");
        return show(409, {}, taken);
    }
    if (!is_even_so) typed->set("separate", "");
    if (form.kind == "dose_given" && !typed->has("confirmed"))
        return show(422, {speaker_.say(T::not_confirmed)}, taken);
    Outcome outcome = hand_in(entry_of(*typed, form.kind, {carer, minute(parts_.household.zone, *now)}));
    if (outcome.failure) return std::move(*outcome.failure);
    return outcome.problems.empty() ? see(std::move(outcome.address)) : show(422, outcome.problems, taken);
}

// A dose given where the scheduled one has any entry; one not given only where it was given.
std::optional<Taken> Pages::taken_by(const Form& form, const Facts& facts, const Typed& typed,
                                     Instant now) const {
    const bool is_given = form.kind == "dose_given";
    if (!is_given && form.kind != "dose_not_given") return std::nullopt;
    const auto at = instant_in(typed, parts_.household.zone, now);
    auto taken = at ? taken_at(facts, *at) : std::nullopt;
    return taken && (is_given || taken->dose) ? taken : std::nullopt;
}

Pages::Outcome Pages::hand_in(const std::string& json) {
    const auto answers = parts_.desk.hand_in(json, entry::Format::json, "page");
    if (!answers) return {{}, {}, failure(answers.error())};
    if (answers->failure) return {{}, {answers->failure->what}, std::nullopt};
    const intake::Answer& answer = answers->answers.at(0);
    if (!answer.problems.empty()) return {{}, words_of(answer.problems), std::nullopt};
    const bool is_new = answer.kind == intake::Answer::Kind::accepted;
    return {std::string(entries_path) + answer.id->to_string() + (is_new ? "?news=new" : "?news=again"),
            {},
            std::nullopt};
}

std::optional<std::string> Pages::person_of(const HttpRequest& request) const {
    const auto named = query_value(request.target, "person");
    if (named && parts_.household.person(*named) != nullptr) return named;
    if (parts_.household.persons.size() == 1) return parts_.household.persons.front().key;
    return std::nullopt;
}

Result<Facts> Pages::facts_of(const std::string& person) {
    Facts facts;
    facts.person = person;
    facts.plan = parts_.upkeep.plan_of(person);
    const Instant now = parts_.clock.now();
    if (facts.plan != nullptr) {
        if (const auto done = parts_.upkeep.catch_up(); !done && done.error().code != Errc::disk_full)
            return done.error();
        auto review = parts_.upkeep.review(*facts.plan, {now - shown_days, now + std::chrono::days{1}}, now);
        if (!review) return review.error();
        const auto history = parts_.upkeep.history(person);
        if (!history) return history.error();
        std::erase_if(review->flags, [&](const care::Flag& flag) { return is_settled(*history, flag.key); });
        facts.review = std::move(*review);
    }
    logbook::Filter filter;
    filter.person = person;
    filter.limit = entries_looked_at;
    auto listing = parts_.logbook.list(filter);
    if (!listing) return listing.error();
    for (logbook::EntryRecord& record : listing->records) {
        if (record.current.content.kind() == entry::Kind::dose_given)
            facts.doses.push_back(std::move(record));
    }
    return facts;
}

std::optional<logbook::EntryRecord> Pages::find(const std::string& id) {
    if (id.empty()) return std::nullopt;
    auto found = parts_.logbook.find(parts_.household.ids().id_for("label:" + id));
    return found ? std::move(*found) : std::nullopt;
}

std::optional<Instant> Pages::meant_by_now(const Typed& typed,
                                           const std::optional<logbook::EntryRecord>& there) const {
    // As it was recorded first, whatever it was amended to since.
    if (there) return there->revisions.front().content.time.at;
    const Instant now = parts_.clock.now();
    if (!typed.has("typed_at") || typed.value("when") != "now") return now;
    const std::string text = typed.value("typed_at");
    std::int64_t seconds = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), seconds);
    const bool is_number = failure == std::errc() && end == text.data() + text.size();
    const bool is_believable = is_number && seconds > 0 &&
                               std::chrono::seconds{seconds} < now.time_since_epoch() + clocks_apart_max &&
                               std::chrono::seconds{seconds} > now.time_since_epoch() - kept_max;
    if (!is_believable) return std::nullopt;
    return std::min(now, Instant{std::chrono::seconds{seconds}});
}

// A label of the family's own kind (entry-format.md), which the form keeps however often it is sent.
std::string Pages::new_id() {
    constexpr std::string_view letters = "abcdefghijklmnopqrstuvwxyz234567";
    std::string id = "page-";
    for (int i = 0; i < 26; ++i)
        id += letters[parts_.random.below(letters.size())];
    return id;
}

HttpAnswer Pages::failure(const Error& error) {
    if (error.code == Errc::disk_full) return message(507, T::no_room);
    if (error.code != Errc::unreadable) failed_ = error;
    return message(500, T::failed);
}

HttpAnswer Pages::message(int status, T text) const {
    return page(status, message_view(backdrop(), text));
}

}  // namespace nightferry::page
