// The part of Api about deliveries: what waits, what was set aside, and what people do about it.
#include <algorithm>
#include <charconv>

#include "daemon/core/words.hpp"
#include "daemon/intake/api.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/intake/closer.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

constexpr std::int64_t list_limit_max = 10'000;

}  // namespace

std::optional<std::int64_t> Api::limit_of(const HttpRequest& request) {
    const std::string text = query_value(request.target, "limit").value_or("");
    if (text.empty()) return 1000;
    std::int64_t limit = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), limit);
    if (failure != std::errc() || end != text.data() + text.size() || limit < 1 || limit > list_limit_max)
        return std::nullopt;
    return limit;
}

HttpAnswer Api::deliveries(const HttpRequest& request) {
    const std::string word = query_value(request.target, "state").value_or("");
    if (word != "waiting" && word != "set_aside")
        return error_answer(400, "state is missing or unknown; expected waiting or set_aside");
    const auto limit = limit_of(request);
    if (!limit) return error_answer(400, "limit is not a whole number from 1 to 10000");
    const auto clinics = clinics_of(request);
    if (clinics.empty()) return unknown_clinic(request);
    std::vector<logbook::DeliveryState> states{logbook::DeliveryState::set_aside};
    if (word == "waiting") states = {logbook::DeliveryState::under_way, logbook::DeliveryState::waiting};
    std::vector<EntryId> ids;
    for (const std::string& clinic : clinics) {
        for (const auto state : states) {
            const auto found = outbox_.in_state(clinic, state, static_cast<std::size_t>(*limit));
            if (!found) return storage_error(found.error());
            for (const logbook::Delivery& delivery : *found) {
                // An entry that waits for two clinics is still one entry; it shows all its deliveries.
                if (std::find(ids.begin(), ids.end(), delivery.id) == ids.end()) ids.push_back(delivery.id);
            }
        }
    }
    ids.resize(std::min(ids.size(), static_cast<std::size_t>(*limit)));
    return entries(ids);
}

HttpAnswer Api::entries(const std::vector<EntryId>& ids) {
    json::Document document;
    json::Value& list = document.root().add_array("entries");
    for (const EntryId& id : ids) {
        const auto record = logbook_.find(id);
        if (!record) return storage_error(record.error());
        if (*record) put_entry(list.push_object(), **record, false, household_.zone);
    }
    return json_answer(200, document);
}

HttpAnswer Api::release(const HttpRequest& request) {
    const auto clinics = clinics_of(request);
    if (clinics.empty()) return unknown_clinic(request);
    const auto text = query_value(request.target, "entry");
    const auto id = text ? std::optional(id_from(*text)) : std::nullopt;
    std::int64_t released = 0;
    for (const std::string& clinic : clinics) {
        const auto count = outbox_.release(clinic, id, clock_.now());
        if (!count) return storage_error(count.error());
        released += *count;
    }
    if (text && released == 0)
        return error_answer(404, "no entry with the id " + in_quotes(*text) + " is set aside");
    json::Document document;
    put_count(document.root(), "released", released);
    return json_answer(200, document);
}

HttpAnswer Api::settle(const HttpRequest& request) {
    if (!query_value(request.target, "clinic"))
        return error_answer(400, "clinic is missing; expected the clinic with which it was settled");
    const auto clinics = clinics_of(request);
    if (clinics.empty()) return unknown_clinic(request);
    const auto text = query_value(request.target, "entry");
    if (!text) return error_answer(400, "entry is missing; expected the id of what was settled");
    const Instant now = clock_.now();
    const auto closer = read_closer(request.body, household_, now);
    if (!closer) return error_answer(400, closer.error().detail);
    const EntryId id = id_from(*text);
    const auto closed = outbox_.close(clinics.front(), id, closer->by, closer->reason, now);
    if (!closed) return storage_error(closed.error());
    if (!*closed) {
        return error_answer(404, "no entry with the id " + in_quotes(*text) +
                                     " is set aside for the clinic " + in_quotes(clinics.front()));
    }
    json::Document document;
    document.root().add_string("settled", id.to_string());
    return json_answer(200, document);
}

}  // namespace nightferry::intake
