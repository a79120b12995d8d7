#include "daemon/intake/care_api.hpp"

#include <algorithm>
#include <set>

#include "daemon/care/calendar.hpp"
#include "daemon/care/find_flags.hpp"
#include "daemon/care/review_json.hpp"
#include "daemon/core/overloaded.hpp"
#include "daemon/core/words.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/intake/closer.hpp"
#include "daemon/intake/orders_api.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

constexpr std::chrono::days default_period{14};

// Instants before it and periods far ahead mean a slip of the keyboard.
constexpr std::chrono::local_days first_day{std::chrono::year{2000} / 1 / 1};
constexpr std::chrono::days farthest{400};
constexpr std::chrono::hours sample_ahead{48};

Error bad_input(std::string_view name, const std::string& words) {
    return {Errc::bad_input, std::string(name) + " " + words};
}

// The name of a parameter that is none of these.
std::optional<std::string> stray_parameter(std::string_view target,
                                           std::initializer_list<std::string_view> known) {
    const auto mark = target.find('?');
    std::string_view query = mark == std::string_view::npos ? std::string_view() : target.substr(mark + 1);
    while (!query.empty()) {
        const std::string_view pair = query.substr(0, query.find('&'));
        query.remove_prefix(std::min(pair.size() + 1, query.size()));
        const std::string name = percent_decode(pair.substr(0, pair.find('=')));
        if (std::ranges::find(known, name) == known.end()) return name;
    }
    return std::nullopt;
}

// The history as it was then.
care::FlagHistory until(const care::FlagHistory& history, Instant at) {
    care::FlagHistory before;
    for (const auto& [key, events] : history) {
        for (const care::FlagEvent& event : events) {
            if (event.at <= at) before[key].push_back(event);
        }
    }
    return before;
}

void put_events(json::Value& into, const std::vector<care::FlagEvent>& events) {
    into.add_string("state", events.back().what == care::FlagEventKind::raised
                                 ? "open"
                                 : care::word_for(events.back().what));
    json::Value& list = into.add_array("history");
    for (const care::FlagEvent& event : events)
        care::put_flag_event(list.push_object(), event);
}

}  // namespace

bool CareApi::is_for(std::string_view path) {
    return path == "/v1/report" || path == "/v1/since-dose" || path == "/v1/flags" ||
           path == "/v1/flags/settle" || path == "/v1/orders";
}

Result<HttpAnswer> CareApi::answer(const HttpRequest& request) {
    // Wanted most where there is no regimen yet.
    if (path_of(request.target) == "/v1/orders") return answer_orders(request, household_, upkeep_, clock_);
    const auto person = query_value(request.target, "person");
    const auto& plans = upkeep_.plans();
    if (path_of(request.target) == "/v1/flags" && request.method == "GET") {
        if (const entry::Person* other = without_regimen(person)) return flags_without_regimen(*other);
    }
    if (plans.empty())
        return error_answer(409, "the settings give no [[regimen]], so there is nothing to compare with");
    if (!person && plans.size() > 1) return error_answer(400, "person is missing; several have a regimen");
    const care::Plan* plan = person ? upkeep_.plan_of(*person) : &plans.front();
    if (plan == nullptr) {
        std::vector<std::string_view> known;
        for (const care::Plan& one : plans)
            known.push_back(one.person);
        return error_answer(
            404, household_.person(*person) == nullptr
                     ? "no [[person]] has the key " + in_quotes(*person) + "." + did_you_mean(*person, known)
                     : "the settings give no [[regimen]] for " + in_quotes(*person));
    }
    const auto stray =
        stray_parameter(request.target, {"person", "from", "to", "known_at", "at", "all", "key"});
    if (stray) return error_answer(400, in_quotes(*stray) + " is no parameter here");
    const auto all = query_value(request.target, "all");
    if (all && *all != "yes" && *all != "no") return error_answer(400, "all is neither yes nor no");
    const std::string_view path = path_of(request.target);
    if (path == "/v1/flags/settle" && request.method == "POST") return settle(request, *plan);
    if (path == "/v1/flags" && request.method == "GET") return flags(request, *plan);
    if (path == "/v1/report" && request.method == "GET") return report(request, *plan);
    if (path == "/v1/since-dose" && request.method == "GET") return since_dose(request, *plan);
    return error_answer(404, "there is nothing at " + request.method + " " + in_quotes(path));
}

Result<Instant> CareApi::instant_of(const HttpRequest& request, std::string_view name, Instant latest) const {
    const auto text = query_value(request.target, name);
    if (!text) return clock_.now();
    const auto written = parse_time(*text);
    if (!written) return bad_input(name, "is not a time like 2026-10-12T08:00, with or without its offset");
    Result<Instant> instant = Instant{written->local.time_since_epoch()};
    if (written->offset) {
        instant = Instant{written->local.time_since_epoch() - *written->offset};
    } else {
        instant = std::visit(
            Overloaded{[](const Moment& moment) -> Result<Instant> { return moment.at; },
                       [&](const Zone::Ambiguous& twice) -> Result<Instant> {
                           return bad_input(name, "was twice, because the clocks went back; write " +
                                                      to_text(twice.first) + " or " + to_text(twice.second));
                       },
                       [&](const Zone::Nonexistent&) -> Result<Instant> {
                           return bad_input(name, "was never, because the clocks went forward");
                       }},
            household_.zone.read(written->local));
    }
    if (!instant) return instant;
    const Instant exact = *instant + written->fraction;
    if (exact < care::start_of(household_.zone, first_day) || exact > latest)
        return bad_input(name, "lies too far away; it may lie between 2000-01-01 and " +
                                   to_text(std::chrono::floor<std::chrono::seconds>(latest)));
    return exact;
}

Result<care::Period> CareApi::period_of(const HttpRequest& request, Instant known_at) const {
    using std::chrono::local_days;
    const local_days known_day = care::day_of(household_.zone, known_at);
    const auto day = [&](std::string_view name, local_days fallback) -> Result<local_days> {
        const auto text = query_value(request.target, name);
        if (!text) return fallback;
        const auto date = parse_date(*text, DateForm::year_month_day);
        if (!date) return bad_input(name, "is not a day like 2026-10-12");
        const local_days found{*date};
        if (found < first_day || found > known_day + farthest)
            return bad_input(name,
                             "lies too far away; expected a day between 2000-01-01 and a year from now");
        return found;
    };
    const auto to = day("to", known_day);
    if (!to) return to.error();
    const auto from = day("from", *to - default_period + std::chrono::days{1});
    if (!from) return from.error();
    if (*from > *to) return bad_input("from", "lies after to, which is today if left out");
    return care::Period{care::start_of(household_.zone, *from),
                        care::start_of(household_.zone, *to + std::chrono::days{1})};
}

Result<HttpAnswer> CareApi::report(const HttpRequest& request, const care::Plan& plan) {
    // First, so that what is known now has its history now.
    const auto caught_up = upkeep_.catch_up();
    if (!caught_up) return caught_up.error();
    const auto known_at = instant_of(request, "known_at", clock_.now());
    if (!known_at) return error_answer(400, known_at.error().detail);
    const auto period = period_of(request, *known_at);
    if (!period) return error_answer(400, period.error().detail);
    const auto review = upkeep_.review(plan, *period, *known_at);
    if (!review) return review.error();
    const auto history = upkeep_.history(plan.person);
    if (!history) return history.error();
    json::Document document;
    care::put_review(document.root(), *review, household_);
    put_flags(document.root(), *review, plan, until(*history, *known_at), false);
    return json_answer(200, document);
}

Result<HttpAnswer> CareApi::since_dose(const HttpRequest& request, const care::Plan& plan) {
    const Instant now = clock_.now();
    const auto at = instant_of(request, "at", now + sample_ahead);
    if (!at) return error_answer(400, at.error().detail);
    const Instant end = std::max(now, *at);
    const auto review = upkeep_.review(plan, {end, end}, now);
    if (!review) return review.error();
    json::Document document;
    document.root().add_string("person", plan.person);
    document.root().add_string("at", to_text(std::chrono::floor<std::chrono::seconds>(*at)));
    document.root().add_string("zone", household_.zone.name());
    care::put_since_dose(document.root(), care::since_dose_in(*review, plan, *at), plan.sample);
    return json_answer(200, document);
}

Result<HttpAnswer> CareApi::flags(const HttpRequest& request, const care::Plan& plan) {
    const auto caught_up = upkeep_.catch_up();
    if (!caught_up) return caught_up.error();
    const Instant now = clock_.now();
    const auto review = upkeep_.review(plan, {now, now}, now);
    if (!review) return review.error();
    const auto history = upkeep_.history(plan.person);
    if (!history) return history.error();
    json::Document document;
    document.root().add_string("person", plan.person);
    document.root().add_string("zone", household_.zone.name());
    put_flags(document.root(), *review, plan, *history, query_value(request.target, "all") == "yes");
    return json_answer(200, document);
}

const entry::Person* CareApi::without_regimen(const std::optional<std::string>& key) const {
    const bool is_clear = key || household_.persons.size() == 1;
    const entry::Person* person = !is_clear ? nullptr
                                  : key     ? household_.person(*key)
                                            : &household_.persons.front();
    return person == nullptr || upkeep_.plan_of(person->key) != nullptr ? nullptr : person;
}

Result<HttpAnswer> CareApi::flags_without_regimen(const entry::Person& person) {
    const Instant now = clock_.now();
    auto left_out = upkeep_.left_out(person.key, now);
    if (!left_out) return left_out.error();
    const care::Plan defaults;
    json::Document document;
    document.root().add_string("person", person.key);
    document.root().add_string("zone", household_.zone.name());
    document.root().add_boolean("has_regimen", false);
    json::Value& list = document.root().add_array("flags");
    for (const care::Flag& flag : care::flags_of_patients(*left_out, defaults.flags, now))
        care::put_flag(list.push_object(), flag, defaults.flags);
    return json_answer(200, document);
}

void CareApi::put_flags(json::Value& into, const care::Review& review, const care::Plan& plan,
                        const care::FlagHistory& history, bool all) const {
    json::Value& list = into.add_array("flags");
    std::set<std::string> shown;
    for (const care::Flag& flag : review.flags) {
        const auto events = history.find(flag.key);
        const bool is_settled =
            events != history.end() && events->second.back().what == care::FlagEventKind::settled;
        if (is_settled && !all) continue;
        json::Value& object = list.push_object();
        care::put_flag(object, flag, plan.flags);
        if (events != history.end()) put_events(object, events->second);
        shown.insert(flag.key);
    }
    for (const auto& [key, events] : history) {
        if (!all || shown.contains(key)) continue;
        json::Value& object = list.push_object();
        object.add_string("key", key);
        object.add_string("flag", key.substr(0, key.find(':')));
        object.add_string("level", care::word_for(events.back().level));
        object.add_string("about", to_text(events.back().about));
        object.add_string("reason", events.back().reason);
        put_events(object, events);
    }
}

Result<HttpAnswer> CareApi::settle(const HttpRequest& request, const care::Plan& plan) {
    const auto key = query_value(request.target, "key");
    if (!key) return error_answer(400, "key is missing; expected the key of the flag that was dealt with");
    if (key->starts_with(std::string(care::word_for(care::FlagKind::possible_double)) + ":")) {
        return error_answer(
            409,
            "this is decided on the entry itself: retract the one that was written down twice, or amend the "
            "later one with separate yes; the flag then clears by itself");
    }
    const auto closer = read_closer(request.body, household_, clock_.now());
    if (!closer) return error_answer(400, closer.error().detail);
    const auto caught_up = upkeep_.catch_up();
    if (!caught_up) return caught_up.error();
    const auto settled = upkeep_.settle(plan.person, *key, closer->by, closer->reason);
    if (!settled) return settled.error();
    if (!*settled) return error_answer(404, "no flag with this key is open");
    json::Document document;
    document.root().add_string("settled", *key);
    return json_answer(200, document);
}

}  // namespace nightferry::intake
