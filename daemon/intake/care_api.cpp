#include "daemon/intake/care_api.hpp"

#include <set>

#include "daemon/care/calendar.hpp"
#include "daemon/care/review_json.hpp"
#include "daemon/care/slots.hpp"
#include "daemon/core/words.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/intake/closer.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

constexpr std::chrono::days default_period{14};

HttpAnswer not_a_time(std::string_view name) {
    return error_answer(
        400, std::string(name) + " is not a time like 2026-10-12T08:00, with or without its offset");
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
           path == "/v1/flags/settle";
}

Result<HttpAnswer> CareApi::answer(const HttpRequest& request) {
    const auto person = query_value(request.target, "person");
    const auto& plans = upkeep_.plans();
    if (plans.empty())
        return error_answer(409, "the settings give no [[regimen]], so there is nothing to compare with");
    if (!person && plans.size() > 1) return error_answer(400, "person is missing; several have a regimen");
    const care::Plan* plan = person ? upkeep_.plan_of(*person) : &plans.front();
    if (plan == nullptr) {
        std::vector<std::string_view> known;
        for (const care::Plan& one : plans)
            known.push_back(one.person);
        return error_answer(404, "the settings give no [[regimen]] for " + in_quotes(*person) + "." +
                                     did_you_mean(*person, known));
    }
    const std::string_view path = path_of(request.target);
    if (path == "/v1/flags/settle" && request.method == "POST") return settle(request, *plan);
    if (path == "/v1/flags" && request.method == "GET") return flags(request, *plan);
    if (path == "/v1/report" && request.method == "GET") return report(request, *plan);
    if (path == "/v1/since-dose" && request.method == "GET") return since_dose(request, *plan);
    return error_answer(404, "there is nothing at " + request.method + " " + in_quotes(path));
}

std::optional<Instant> CareApi::instant_of(const HttpRequest& request, std::string_view name) const {
    const auto text = query_value(request.target, name);
    if (!text) return clock_.now();
    const auto written = parse_time(*text);
    if (!written) return std::nullopt;
    if (written->offset)
        return Instant{written->local.time_since_epoch() - *written->offset + written->fraction};
    return care::meant_by(household_.zone, written->local).at;
}

std::optional<care::Period> CareApi::period_of(const HttpRequest& request) const {
    const auto day = [&](std::string_view name,
                         std::chrono::local_days fallback) -> std::optional<std::chrono::local_days> {
        const auto text = query_value(request.target, name);
        if (!text) return fallback;
        const auto date = parse_date(*text, DateForm::year_month_day);
        return date ? std::optional(std::chrono::local_days{*date}) : std::nullopt;
    };
    const auto to = day("to", care::day_of(household_.zone, clock_.now()));
    if (!to) return std::nullopt;
    const auto from = day("from", *to - default_period + std::chrono::days{1});
    if (!from || *from > *to) return std::nullopt;
    return care::Period{care::start_of(household_.zone, *from),
                        care::start_of(household_.zone, *to + std::chrono::days{1})};
}

Result<HttpAnswer> CareApi::report(const HttpRequest& request, const care::Plan& plan) {
    const auto period = period_of(request);
    if (!period)
        return error_answer(400,
                            "from and to are days like 2026-10-12, from not after to; both are included");
    // First, so that what is known now has its history now.
    const auto caught_up = upkeep_.catch_up();
    if (!caught_up) return caught_up.error();
    const auto known_at = instant_of(request, "known_at");
    if (!known_at) return not_a_time("known_at");
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
    const auto at = instant_of(request, "at");
    if (!at) return not_a_time("at");
    const Instant now = clock_.now();
    const auto review = upkeep_.review(plan, {*at, *at}, std::max(now, *at));
    if (!review) return review.error();
    json::Document document;
    document.root().add_string("person", plan.person);
    document.root().add_string("at", to_text(*at));
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
    put_flags(document.root(), *review, plan, *history, query_value(request.target, "all") == "yes");
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
