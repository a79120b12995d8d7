#include "daemon/intake/sharing_json.hpp"

#include "daemon/entry/body.hpp"
#include "daemon/entry/free_texts.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/mapping/mapper.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

void put_policy(json::Value& into, const entry::PolicyInForce& policy, const Zone& zone) {
    const entry::SharingTerms& terms = policy.policy.terms();
    json::Value& persons = into.add_array("persons");
    for (const std::string& person : terms.persons)
        persons.push_string(person);
    json::Value& kinds = into.add_array("kinds");
    for (const entry::Kind kind : terms.kinds)
        kinds.push_string(entry::word_for(kind));
    if (terms.from) into.add_string("from", to_text(*terms.from));
    into.add_boolean("notes", terms.notes);
    put_time(into, "since", policy.since, zone);
    if (policy.back_to && *policy.back_to != Instant::min()) put_time(into, "back_to", *policy.back_to, zone);
}

void put_parcel(json::Value& into, const logbook::Parcel& parcel) {
    const entry::Version sent = parcel.texts.now ? parcel.wanted : entry::without_free_texts(parcel.wanted);
    entry::Submission shown = sent.submission;
    shown.entry = sent.content;
    entry::put_fields(into, shown);
    put_count(into, "revision", sent.revision);
    into.add_boolean("retracted", sent.action() == entry::Action::retract);
    into.add_string("resource", mapping::Mapper::resource_type(sent.content));
    if (parcel.receipt)
        into.add_string("replaces", parcel.receipt->resource_type + "/" + parcel.receipt->resource_id);
    if (parcel.only_taken_back) into.add_boolean("only_taken_back", true);
    const std::vector<entry::FreeText> along = entry::free_texts(sent);
    json::Value* texts = along.empty() ? nullptr : &into.add_array("free_texts");
    for (const entry::FreeText& one : along) {
        json::Value& text = texts->push_object();
        text.add_string("field", one.field);
        text.add_string("text", one.text);
    }
    if (parcel.texts.now) return;
    const std::vector<entry::FreeText> kept = entry::free_texts(parcel.wanted);
    json::Value* left = kept.empty() ? nullptr : &into.add_array("left_out");
    for (const entry::FreeText& one : kept)
        left->push_string(one.field);
}

void put_audit_row(json::Value& into, const logbook::AuditRow& row, const Zone& zone) {
    put_count(into, "number", row.number);
    put_count(into, "at_us", row.at.time_since_epoch().count());
    into.add_string("at", to_text(zone.at(std::chrono::floor<std::chrono::seconds>(row.at))));
    into.add_string("event", row.event);
    into.add_string("clinic", row.clinic);
    into.add_string("entry", row.entry);
    put_count(into, "revision", row.revision);
    into.add_string("detail", row.detail);
    into.add_string("hash", row.hash);
}

}  // namespace nightferry::intake
