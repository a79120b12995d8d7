#include "daemon/intake/api_json.hpp"

#include "daemon/entry/body.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

HttpAnswer json_answer(int status, const json::Document& document) {
    return {status,
            {{"Content-Type", "application/json"}, {"Cache-Control", "no-store"}},
            json::write(document.root()) + "\n"};
}

HttpAnswer error_answer(int status, std::string_view words) {
    json::Document document;
    document.root().add_string("error", words);
    return json_answer(status, document);
}

void put_time(json::Value& into, std::string_view name, Instant instant, const Zone& zone) {
    if (instant != Instant{})
        into.add_string(name, to_text(zone.at(std::chrono::floor<std::chrono::seconds>(instant))));
}

void put_count(json::Value& into, std::string_view name, std::int64_t count) {
    into.add_number(name, std::to_string(count));
}

namespace {

void put_problem(json::Value& list, const entry::Problem& problem) {
    json::Value& object = list.push_object();
    object.add_string("where", problem.where);
    object.add_string("what", problem.what);
}

void put_answer(json::Value& into, const Answer& answer) {
    into.add_string("where", answer.where);
    into.add_string("answer", word_for(answer.kind));
    if (answer.id) into.add_string("id", answer.id->to_string());
    if (answer.revision > 0) put_count(into, "revision", answer.revision);
    if (!answer.is_in_effect) into.add_boolean("in_effect", false);
    if (answer.is_retracted) into.add_boolean("retracted", true);
    if (answer.problems.empty()) return;
    json::Value& list = into.add_array("problems");
    for (const entry::Problem& problem : answer.problems)
        put_problem(list, problem);
}

}  // namespace

void put_answers(json::Value& into, const Answers& answers) {
    for (const auto kind : {Answer::Kind::accepted, Answer::Kind::already_there, Answer::Kind::conflict,
                            Answer::Kind::refused}) {
        put_count(into, word_for(kind), static_cast<std::int64_t>(answers.count(kind)));
    }
    if (answers.failure) {
        const std::string& where = answers.failure->where;
        into.add_string("error", (where.empty() ? std::string() : where + ": ") + answers.failure->what);
    }
    json::Value& list = into.add_array("answers");
    for (const Answer& answer : answers.answers)
        put_answer(list.push_object(), answer);
}

void put_delivery(json::Value& into, const logbook::Delivery& delivery, const Zone& zone) {
    into.add_string("clinic", delivery.clinic);
    into.add_string("state", logbook::word_for(delivery.state));
    put_count(into, "revision", delivery.wanted);
    put_count(into, "attempts", delivery.attempts);
    put_time(into, "changed", delivery.changed, zone);
    if (!delivery.words.empty()) into.add_string("words", delivery.words);
    json::Value* closings = delivery.closings.empty() ? nullptr : &into.add_array("closings");
    for (const logbook::Closing& closing : delivery.closings) {
        json::Value& object = closings->push_object();
        put_count(object, "revision", closing.revision);
        put_time(object, "closed", closing.at, zone);
        object.add_string("by", closing.by);
        object.add_string("reason", closing.reason);
    }
    json::Value* receipts = delivery.receipts.empty() ? nullptr : &into.add_array("receipts");
    for (const logbook::Receipt& receipt : delivery.receipts) {
        json::Value& object = receipts->push_object();
        put_count(object, "revision", receipt.revision);
        object.add_string("resource", receipt.resource_type + "/" + receipt.resource_id);
        if (!receipt.version_id.empty()) object.add_string("version", receipt.version_id);
        put_count(object, "status", receipt.http_status);
        put_time(object, "received", receipt.received, zone);
    }
}

void put_entry(json::Value& into, const logbook::EntryRecord& record, bool history, const Zone& zone) {
    entry::Submission shown = record.current.submission;
    shown.entry = record.current.content;
    entry::put_fields(into, shown);
    put_count(into, "revision", record.current.revision);
    into.add_boolean("retracted", record.current.action() == entry::Action::retract);
    json::Value& deliveries = into.add_array("deliveries");
    for (const logbook::Delivery& delivery : record.deliveries)
        put_delivery(deliveries.push_object(), delivery, zone);
    if (!history) return;
    json::Value& revisions = into.add_array("revisions");
    for (const entry::Version& version : record.revisions) {
        json::Value& object = revisions.push_object();
        put_count(object, "revision", version.revision);
        put_time(object, "accepted", version.accepted, zone);
        entry::put_fields(object.add_object("entry"), version.submission);
    }
}

}  // namespace nightferry::intake
