#include "daemon/intake/api.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/intake/fhir_answer.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

constexpr std::string_view entries_path = "/v1/entries";

}  // namespace

HttpAnswer Api::answer(const HttpRequest& request) {
    const std::string_view path = path_of(request.target);
    const bool get = request.method == "GET";
    const bool post = request.method == "POST";
    if (path == entries_path && post) return hand_in(request);
    if (path == entries_path && get) return list(request);
    if (path.starts_with("/v1/entries/") && get) return show(request);
    if (path == "/v1/queue" && get) return queue();
    if (path == "/v1/deliveries" && get) return deliveries(request);
    if (path == "/v1/deliveries/release" && post) return release(request);
    if (path == "/v1/deliveries/settle" && post) return settle(request);
    if (path == "/v1/passes" && post) return start_passes(request);
    if (CareApi::is_for(path)) {
        auto computed = care_.answer(request);
        return computed ? std::move(*computed) : storage_error(computed.error());
    }
    if (SharingApi::is_for(path)) {
        auto shown = sharing_.answer(request);
        return shown ? std::move(*shown) : storage_error(shown.error());
    }
    if (LogbookApi::is_for(path)) {
        auto kept = keeping_.answer(request);
        return kept ? std::move(*kept) : storage_error(kept.error());
    }
    return error_answer(404, "there is nothing at " + request.method + " " + in_quotes(path));
}

// As in entries: a UUID, or the family's own label.
EntryId Api::id_from(const std::string& text) const {
    const auto uuid = EntryId::parse(text);
    return uuid ? *uuid : household_.ids().id_for("label:" + text);
}

HttpAnswer Api::storage_error(const Error& error) {
    if (error.code == Errc::disk_full) return error_answer(507, error.detail + "; nothing was accepted");
    // What one stored entry lost does not put the rest in doubt.
    if (error.code != Errc::unreadable) failed_ = error;
    return error_answer(500, error.detail);
}

std::vector<std::string> Api::clinics_of(const HttpRequest& request) const {
    const auto wanted = query_value(request.target, "clinic");
    std::vector<std::string> clinics = passes_.clinics();
    if (!wanted) return clinics;
    if (std::find(clinics.begin(), clinics.end(), *wanted) == clinics.end()) return {};
    return {*wanted};
}

HttpAnswer Api::unknown_clinic(const HttpRequest& request) const {
    const auto wanted = query_value(request.target, "clinic");
    if (!wanted)
        return error_answer(409, "the settings name no clinic; entries are kept until one is set up");
    const auto clinics = passes_.clinics();
    const std::vector<std::string_view> known(clinics.begin(), clinics.end());
    return error_answer(
        404, "no clinic " + in_quotes(*wanted) + " is in the settings." + did_you_mean(*wanted, known));
}

HttpAnswer Api::hand_in(const HttpRequest& request) {
    const std::string_view media_type = header(request.headers, "Content-Type");
    const auto fhir_type = fhir::exchange::read_media_type(media_type);
    if (fhir_type.format == fhir::exchange::MediaType::Format::fhir_json)
        return hand_in_fhir(request, fhir_type);
    if (fhir_type.format == fhir::exchange::MediaType::Format::fhir_xml)
        return fhir_error(415, "not-supported",
                          "FHIR is read in JSON only; hand it in as application/fhir+json");
    const auto format = entry::format_of_media_type(media_type);
    if (!format) {
        const std::string found = media_type.empty()
                                      ? "Content-Type is missing"
                                      : "Content-Type " + in_quotes(media_type) + " is not known";
        return error_answer(
            415,
            found + "; expected application/json, application/x-ndjson, text/csv or application/fhir+json");
    }
    const auto answers = desk_.hand_in(request.body, *format, "local");
    if (!answers) return storage_error(answers.error());
    json::Document document;
    put_answers(document.root(), *answers);
    return json_answer(answers->failure ? 400 : answers->all_good() ? 200 : 422, document);
}

HttpAnswer Api::hand_in_fhir(const HttpRequest& request, const fhir::exchange::MediaType& type) {
    if (!type.fhir_version.empty() && !type.release) {
        return fhir_error(
            415, "not-supported",
            "fhirVersion " + in_quotes(type.fhir_version) + " is not known; expected 4.0, 4.3 or 5.0");
    }
    const auto answers = desk_.hand_in_resources(request.body, type.release, "local");
    if (answers) return fhir_answer(*answers);
    const HttpAnswer failed = storage_error(answers.error());
    return fhir_error(failed.status, failed.status == 507 ? "no-store" : "exception", answers.error().detail);
}

HttpAnswer Api::list(const HttpRequest& request) {
    logbook::Filter filter;
    filter.person = query_value(request.target, "person").value_or("");
    const auto limit = limit_of(request);
    if (!limit) return error_answer(400, "limit is not a whole number from 1 to 10000");
    filter.limit = *limit;
    filter.summaries = query_value(request.target, "summaries") == "yes";
    for (const auto& [name, into] : {std::pair{"from", &filter.from}, std::pair{"to", &filter.to}}) {
        const std::string text = query_value(request.target, name).value_or("");
        if (text.empty()) continue;
        const auto moment = parse_moment(text);
        if (!moment) {
            return error_answer(400, std::string(name) + " " + in_quotes(text) +
                                         " is not a time with its offset, like 2026-10-12T08:00+01:00");
        }
        *into = moment->at;
    }
    const auto listing = logbook_.list(filter);
    if (!listing) return storage_error(listing.error());
    json::Document document;
    json::Value& list = document.root().add_array("entries");
    for (const logbook::EntryRecord& record : listing->records) {
        put_entry(list.push_object(), record, false, household_.zone);
    }
    if (!listing->unreadable.empty()) {
        json::Value& ids = document.root().add_array("unreadable");
        for (const EntryId& id : listing->unreadable)
            ids.push_string(id.to_string());
    }
    return json_answer(200, document);
}

HttpAnswer Api::show(const HttpRequest& request) {
    const std::string text = percent_decode(path_of(request.target).substr(entries_path.size() + 1));
    const auto record = logbook_.find(id_from(text));
    if (!record) return storage_error(record.error());
    if (!*record) return error_answer(404, "no entry with the id " + in_quotes(text) + " is in the logbook");
    json::Document document;
    put_entry(document.root(), **record, true, household_.zone);
    return json_answer(200, document);
}

HttpAnswer Api::queue() {
    json::Document document;
    document.root().add_string("hub", household_.hub);
    json::Value& clinics = document.root().add_array("clinics");
    for (const std::string& clinic : passes_.clinics()) {
        const auto counts = outbox_.counts(clinic);
        if (!counts) return storage_error(counts.error());
        const auto state = outbox_.state(clinic);
        if (!state) return storage_error(state.error());
        json::Value& object = clinics.push_object();
        object.add_string("clinic", clinic);
        put_count(object, "waiting", counts->waiting);
        put_count(object, "set_aside", counts->set_aside);
        put_count(object, "confirmed", counts->confirmed);
        put_count(object, "closed", counts->closed);
        if (counts->withdrawn > 0) put_count(object, "withdrawn", counts->withdrawn);
        if (counts->oldest_waiting)
            put_time(object, "oldest_waiting", *counts->oldest_waiting, household_.zone);
        json::Value& pass = object.add_object("pass");
        pass.add_boolean("running", passes_.is_running(clinic));
        put_time(pass, "started", state->pass_started, household_.zone);
        if (state->pass_ended >= state->pass_started)
            put_time(pass, "ended", state->pass_ended, household_.zone);
        put_count(pass, "confirmed", state->pass_confirmed);
        put_count(pass, "set_aside", state->pass_set_aside);
        if (!state->words.empty()) pass.add_string("words", state->words);
        if (const auto remarks = passes_.remarks(clinic); !remarks.empty()) {
            json::Value& list = object.add_array("remarks");
            for (const std::string& remark : remarks)
                list.push_string(remark);
        }
        if (state->failures > 0 && passes_.is_running(clinic)) {
            put_count(pass, "failures", state->failures);
            put_time(pass, "next_attempt", state->not_before, household_.zone);
        }
    }
    return json_answer(200, document);
}

HttpAnswer Api::start_passes(const HttpRequest& request) {
    const auto clinics = clinics_of(request);
    if (clinics.empty()) return unknown_clinic(request);
    json::Document document;
    json::Value& started = document.root().add_array("started");
    for (const std::string& clinic : clinics) {
        passes_.start(clinic);
        started.push_string(clinic);
    }
    return json_answer(202, document);
}

}  // namespace nightferry::intake
