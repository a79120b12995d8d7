// What the JSON of several results is made of. Used by the review_json files.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/care/adherence.hpp"
#include "daemon/care/share.hpp"
#include "daemon/care/sites.hpp"
#include "daemon/core/decimal.hpp"
#include "daemon/core/ids.hpp"
#include "daemon/core/time.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::care {

namespace json = fhir::json;

inline void put(json::Value& into, std::string_view name, const Decimal& number) {
    into.add_number(name, number.to_string());
}
inline void put(json::Value& into, std::string_view name, std::int64_t number) {
    into.add_number(name, std::to_string(number));
}
inline void put(json::Value& into, std::string_view name, Instant at) {
    into.add_string(name, to_text(at));
}
inline void put(json::Value& into, std::string_view name, std::chrono::microseconds span) {
    put(into, name, std::int64_t{std::chrono::floor<std::chrono::minutes>(span).count()});
}
inline void put(json::Value& into, std::string_view name, const EntryId& id) {
    into.add_string(name, id.to_string());
}
inline void put(json::Value& into, std::string_view name, const Share& share) {
    json::Value& object = into.add_object(name);
    put(object, "n", share.n);
    put(object, "of", share.of);
    if (const auto percent = share.percent()) put(object, "percent", *percent);
}
inline void put(json::Value& into, std::string_view name, const std::string& text) {
    into.add_string(name, text);
}
template <class T>
void put(json::Value& into, std::string_view name, const std::optional<T>& value) {
    if (value) put(into, name, *value);
}
// Only what is true is said.
inline void put_if(json::Value& into, std::string_view name, bool value) {
    if (value) into.add_boolean(name, true);
}
void put_zone(json::Value& into, const BodyZone& zone);
void put_site(json::Value& into, const entry::Site& site);

struct Review;

// The parts of a review.
void put_figures(json::Value& into, const Adherence& figures);
void put_slots(json::Value& into, const Review& review);
void put_doses(json::Value& into, const Review& review);
void put_sites(json::Value& into, const Review& review);
void put_lesions(json::Value& into, const Review& review);
void put_vials(json::Value& into, const Review& review);

}  // namespace nightferry::care
