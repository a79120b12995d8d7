#include "daemon/intake/sharing_api.hpp"

#include <algorithm>
#include <charconv>

#include "daemon/care/calendar.hpp"
#include "daemon/core/words.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/intake/sharing_json.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

constexpr std::int64_t limit_max = 10'000;

// The whole number that a parameter names.
std::optional<std::int64_t> number_of(const HttpRequest& request, std::string_view name,
                                      std::int64_t otherwise) {
    const std::string text = query_value(request.target, name).value_or("");
    if (text.empty()) return otherwise;
    std::int64_t number = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (failure != std::errc() || end != text.data() + text.size()) return std::nullopt;
    return number;
}

Result<std::size_t> limit_of(const HttpRequest& request) {
    const auto limit = number_of(request, "limit", 1000);
    if (!limit || *limit < 1 || *limit > limit_max)
        return Error{Errc::bad_input, "limit is not a whole number from 1 to 10000"};
    return static_cast<std::size_t>(*limit);
}

HttpAnswer refusal(const Error& error) {
    return error_answer(error.code == Errc::not_found ? 404 : 400, error.detail);
}

}  // namespace

bool SharingApi::is_for(std::string_view path) {
    return path == "/v1/sharing" || path == "/v1/sharing/back-date" || path == "/v1/sharing/withdrawn" ||
           path == "/v1/audit";
}

Result<HttpAnswer> SharingApi::answer(const HttpRequest& request) {
    const std::string_view path = path_of(request.target);
    if (path == "/v1/sharing/back-date" && request.method == "POST") return back_date(request);
    if (request.method == "GET" && path == "/v1/sharing/withdrawn") return withdrawn(request);
    if (request.method == "GET" && path == "/v1/audit") return audit(request);
    if (request.method == "GET" && path == "/v1/sharing") {
        const auto wish = wish_of(request);
        return wish ? preview(*wish) : Result<HttpAnswer>(refusal(wish.error()));
    }
    return error_answer(404, "there is nothing at " + request.method + " " + in_quotes(path));
}

Result<Instant> SharingApi::day_of(const HttpRequest& request, std::string_view name) const {
    const std::string text = query_value(request.target, name).value_or("");
    const auto date = parse_date(text, DateForm::year_month_day);
    if (!date) {
        return Error{Errc::bad_input,
                     std::string(name) + " " + in_quotes(text) + " is not a day; write it like 2026-10-12"};
    }
    return care::start_of(household_.zone, std::chrono::local_days{*date});
}

Result<SharingApi::Wish> SharingApi::wish_of(const HttpRequest& request) const {
    Wish wish;
    const auto limit = limit_of(request);
    if (!limit) return limit.error();
    wish.limit = *limit;
    wish.as_fhir = query_value(request.target, "fhir") == "yes";
    wish.person = query_value(request.target, "person").value_or("");
    if (!wish.person.empty() && household_.person(wish.person) == nullptr)
        return Error{Errc::not_found, "no [[person]] has the key " + in_quotes(wish.person)};
    if (query_value(request.target, "back_to")) {
        const auto day = day_of(request, "back_to");
        if (!day) return day.error();
        wish.back_to = *day;
    }
    wish.clinics = ports_.clinics();
    const auto clinic = query_value(request.target, "clinic");
    if (!clinic) return wish;
    if (std::ranges::find(wish.clinics, *clinic) == wish.clinics.end()) {
        const std::vector<std::string_view> known(wish.clinics.begin(), wish.clinics.end());
        return Error{Errc::not_found, "no clinic " + in_quotes(*clinic) + " is in the settings." +
                                          did_you_mean(*clinic, known)};
    }
    wish.clinics = {*clinic};
    return wish;
}

Result<HttpAnswer> SharingApi::preview(const Wish& wish) {
    json::Document document;
    json::Value& clinics = document.root().add_array("clinics");
    for (const std::string& clinic : wish.clinics) {
        const auto put = put_preview(clinics.push_object(), clinic, wish);
        if (!put) return put.error();
    }
    return json_answer(200, document);
}

Result<void> SharingApi::put_preview(json::Value& into, const std::string& clinic, const Wish& wish) {
    into.add_string("clinic", clinic);
    const auto policies = logbook_.policies_of(clinic);
    if (!policies) return policies.error();
    if (policies->in_force() != nullptr)
        put_policy(into.add_object("policy"), *policies->in_force(), household_.zone);
    std::vector<EntryId> more;
    if (wish.back_to) {
        auto owed = logbook_.would_be_owed(clinic, *wish.back_to);
        if (!owed) return owed.error();
        more = std::move(*owed);
    }
    const auto parcels = outbox_.preview(clinic, more, wish.limit);
    if (!parcels) return parcels.error();
    const auto counts = outbox_.counts(clinic);
    if (!counts) return counts.error();
    put_count(into, "waiting", counts->waiting);
    if (wish.back_to) put_count(into, "back_dated", std::ssize(more));
    const auto builder = ports_.builder(clinic);
    if (!builder) return builder.error();
    std::vector<logbook::Parcel> sendable;
    json::Value& entries = into.add_array("entries");
    for (const logbook::Parcel& parcel : *parcels) {
        if (!wish.person.empty() && parcel.wanted.content.person != wish.person) continue;
        json::Value& entry = entries.push_object();
        put_parcel(entry, parcel);
        if (std::ranges::find(more, parcel.id) != more.end()) entry.add_boolean("back_dated", true);
        if (const auto can = builder->can_send(parcel); !can) {
            entry.add_string("cannot_be_sent", can.error().detail);
        } else {
            sendable.push_back(parcel);
        }
    }
    if (wish.as_fhir) into.add_copy("bundle", builder->preview(sendable).root());
    return {};
}

Result<HttpAnswer> SharingApi::back_date(const HttpRequest& request) {
    const std::string clinic = query_value(request.target, "clinic").value_or("");
    const std::string by = query_value(request.target, "by").value_or("");
    if (clinic.empty())
        return error_answer(400, "clinic is missing; expected the clinic that is to get more");
    if (household_.carer(by) == nullptr)
        return error_answer(400, "by " + in_quotes(by) + " is no carer's key; expected who decided it");
    const auto wish = wish_of(request);
    if (!wish) return refusal(wish.error());
    const auto to = day_of(request, "to");
    if (!to) return refusal(to.error());
    const auto owed = logbook_.back_date(clinic, *to, by, clock_.now());
    if (!owed) return owed.error();
    if (!*owed)
        return error_answer(409, "nothing says yet what this clinic may have; start the daemon first");
    if (**owed > 0) ports_.on_owed(clinic);
    json::Document document;
    document.root().add_string("clinic", clinic);
    put_count(document.root(), "owed", **owed);
    return json_answer(200, document);
}

Result<HttpAnswer> SharingApi::withdrawn(const HttpRequest& request) {
    const auto limit = limit_of(request);
    if (!limit) return refusal(limit.error());
    auto clinics = logbook_.clinics_with_policies();
    if (!clinics) return clinics.error();
    if (const auto one = query_value(request.target, "clinic")) {
        if (std::ranges::find(*clinics, *one) == clinics->end())
            return error_answer(404, "this hub never shared anything with a clinic " + in_quotes(*one));
        clinics = std::vector<std::string>{*one};
    }
    const std::vector<std::string> set_up = ports_.clinics();
    json::Document document;
    json::Value& list = document.root().add_array("clinics");
    for (const std::string& clinic : *clinics) {
        const auto found = logbook_.withdrawn(clinic, *limit);
        if (!found) return found.error();
        json::Value& object = list.push_object();
        object.add_string("clinic", clinic);
        object.add_boolean("in_settings", std::ranges::find(set_up, clinic) != set_up.end());
        json::Value& entries = object.add_array("entries");
        for (const logbook::Withdrawn& one : *found) {
            auto record = logbook_.find(one.id);
            if (!record && record.error().code != Errc::unreadable) return record.error();
            if (!record || !*record) continue;
            std::erase_if((*record)->deliveries,
                          [&](const logbook::Delivery& delivery) { return delivery.clinic != clinic; });
            json::Value& entry = entries.push_object();
            put_entry(entry, **record, false, household_.zone);
            entry.add_string("withheld_because", one.why);
        }
    }
    return json_answer(200, document);
}

Result<HttpAnswer> SharingApi::audit(const HttpRequest& request) {
    const auto limit = limit_of(request);
    if (!limit) return refusal(limit.error());
    const auto after = number_of(request, "after", 0);
    if (!after || *after < 0) return error_answer(400, "after is not the number of a row");
    const std::string entry = query_value(request.target, "entry").value_or("");
    const auto rows = audit_.rows(*after, static_cast<std::int64_t>(*limit), entry);
    if (!rows) return rows.error();
    json::Document document;
    json::Value& list = document.root().add_array("rows");
    for (const logbook::AuditRow& row : *rows)
        put_audit_row(list.push_object(), row, household_.zone);
    return json_answer(200, document);
}

}  // namespace nightferry::intake
