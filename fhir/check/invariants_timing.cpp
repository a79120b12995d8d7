// Invariants of the data types that say when something is to happen: Timing, Availability,
// TriggerDefinition, and of DataRequirement and Dosage beside them.
#include <algorithm>

#include "fhir/check/access.hpp"
#include "fhir/check/invariant_lists.hpp"
#include "fhir/json/decimal.hpp"

namespace nightferry::fhir::check {

namespace {

using json::Value;
using spec::Release;

bool is_not_negative(const Value& object, std::string_view name) {
    const Value* value = object.find(name);
    return value == nullptr || !value->is(json::Kind::number) ||
           json::compare_numbers(value->text(), "0") >= 0;
}

bool implies(bool condition, bool conclusion) {
    return !condition || conclusion;
}

// An offset needs an event other than a meal as such, which has no before and after (tim-9).
bool offset_fits(const Value& repeat) {
    if (!present(repeat, "offset")) return true;
    constexpr std::string_view meals[] = {"C", "CM", "CD", "CV"};
    return present(repeat, "when") && std::ranges::none_of(repeat.items_at("when"), [&](const Value& when) {
               return std::ranges::find(meals, when.text()) != std::end(meals);
           });
}

void repeat(const Value& object, const Place& place, const Scope& scope) {
    demand(implies(present(object, "duration"), present(object, "durationUnit")), "tim-1", place, scope,
           "a duration needs its unit");
    demand(implies(present(object, "period"), present(object, "periodUnit")), "tim-2", place, scope,
           "a period needs its unit");
    demand(is_not_negative(object, "duration"), "tim-4", place, scope, "a duration is not negative");
    demand(is_not_negative(object, "period"), "tim-5", place, scope, "a period is not negative");
    demand(implies(present(object, "periodMax"), present(object, "period")), "tim-6", place, scope,
           "periodMax needs a period");
    demand(implies(present(object, "durationMax"), present(object, "duration")), "tim-7", place, scope,
           "durationMax needs a duration");
    demand(implies(present(object, "countMax"), present(object, "count")), "tim-8", place, scope,
           "countMax needs a count");
    demand(offset_fits(object), "tim-9", place, scope,
           "an offset needs an event in when, and none of C, CM, CD and CV");
    demand(!(present(object, "timeOfDay") && present(object, "when")), "tim-10", place, scope,
           "either timeOfDay or when is there, and not both");
}

void available_time(const Value& object, const Place& place, const Scope& scope) {
    const Value* all_day = object.find("allDay");
    const bool whole_day = all_day != nullptr && all_day->boolean();
    demand(implies(whole_day, !present(object, "availableStartTime") && !present(object, "availableEndTime")),
           "av-1", place, scope, "a whole day has no start and end");
}

void trigger(const Value& object, const Place& place, const Scope& scope) {
    const bool timing = choice_present(object, "timing");
    const bool data = present(object, "data");
    const std::string_view type = object.string_at("type");
    demand(!(data && timing), "trd-1", place, scope, "either timing or data is there, and not both");
    demand(implies(present(object, "condition"), data), "trd-2", place, scope, "a condition needs data");
    demand(implies(type == "named-event", present(object, "name")) && implies(type == "periodic", timing) &&
               implies(type.starts_with("data-"), data),
           "trd-3", place, scope, "what the type of the trigger needs is there: name, timing or data");
}

bool path_or_parameter(const Value& filter) {
    return present(filter, "path") != present(filter, "searchParam");
}

void code_filter(const Value& object, const Place& place, const Scope& scope) {
    demand(path_or_parameter(object), "drq-1", place, scope, "either path or searchParam is there");
}

void date_filter(const Value& object, const Place& place, const Scope& scope) {
    demand(path_or_parameter(object), "drq-2", place, scope, "either path or searchParam is there");
}

void dosage(const Value& object, const Place& place, const Scope& scope) {
    if (scope.release != Release::r5) return;
    const Value* as_needed = object.find("asNeeded");
    const bool denied = as_needed != nullptr && as_needed->is(json::Kind::boolean) && !as_needed->boolean();
    demand(!(present(object, "asNeededFor") && denied), "dos-1", place, scope,
           "asNeededFor is there only when asNeeded is not false");
}

constexpr NamedInvariant list[] = {
    {"Timing.repeat", repeat},
    {"Availability.availableTime", available_time},
    {"TriggerDefinition", trigger},
    {"DataRequirement.codeFilter", code_filter},
    {"DataRequirement.dateFilter", date_filter},
    {"Dosage", dosage},
};

}  // namespace

std::span<const NamedInvariant> timing_invariants() {
    return list;
}

}  // namespace nightferry::fhir::check
