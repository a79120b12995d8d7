// How the local API shows things as JSON.
#pragma once

#include <string>

#include "daemon/core/http.hpp"
#include "daemon/core/zone.hpp"
#include "daemon/intake/desk.hpp"
#include "daemon/logbook/logbook.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::intake {

HttpAnswer json_answer(int status, const fhir::json::Document& document);
HttpAnswer error_answer(int status, std::string_view words);

void put_answers(fhir::json::Value& into, const Answers& answers);
// The content in effect; with `history` every revision too.
void put_entry(fhir::json::Value& into, const logbook::EntryRecord& record, bool history, const Zone& zone);
void put_delivery(fhir::json::Value& into, const logbook::Delivery& delivery, const Zone& zone);
// As the hub's clock on the wall reads, with its offset; nothing for the epoch, which stands for never.
void put_time(fhir::json::Value& into, std::string_view name, Instant instant, const Zone& zone);
void put_count(fhir::json::Value& into, std::string_view name, std::int64_t count);

}  // namespace nightferry::intake
