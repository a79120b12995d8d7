#include "fhir/resource/timing.hpp"

#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::resource {

namespace {

Timing::Bounds bounds_in(const json::Value& repeat) {
    Timing::Bounds bounds;
    if (const json::Value* period = repeat.find("boundsPeriod")) {
        bounds.start = text_of(*period, "start");
        bounds.end = text_of(*period, "end");
    }
    bounds.duration = quantity_of(repeat, "boundsDuration");
    if (const json::Value* range = repeat.find("boundsRange")) {
        bounds.duration_low = quantity_of(*range, "low");
        bounds.duration_high = quantity_of(*range, "high");
    }
    return bounds;
}

}  // namespace

Timing timing_of(const json::Value& object, std::string_view name) {
    Timing timing;
    const json::Value* member = object.find(name);
    if (member == nullptr) return timing;
    timing.event = texts_of(*member, "event");
    timing.code = concept_of(*member, "code");
    const json::Value* repeat = member->find("repeat");
    if (repeat == nullptr) return timing;
    timing.bounds = bounds_in(*repeat);
    timing.count = text_of(*repeat, "count");
    timing.frequency = text_of(*repeat, "frequency");
    timing.frequency_max = text_of(*repeat, "frequencyMax");
    timing.period = text_of(*repeat, "period");
    timing.period_max = text_of(*repeat, "periodMax");
    timing.period_unit = text_of(*repeat, "periodUnit");
    timing.day_of_week = texts_of(*repeat, "dayOfWeek");
    timing.time_of_day = texts_of(*repeat, "timeOfDay");
    timing.when = texts_of(*repeat, "when");
    return timing;
}

}  // namespace nightferry::fhir::resource
