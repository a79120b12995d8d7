#include "daemon/care/review_json.hpp"

#include "daemon/care/json_parts.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::care {

namespace {

std::string text_of(Level level, const FlagRules& rules) {
    const auto set = rules.texts.find(level);
    return set == rules.texts.end() ? std::string(default_text(level)) : set->second;
}

// What a reader has to know before believing any figure.
std::int64_t unresolved_in(const Review& review) {
    std::int64_t count = 0;
    for (const GivenDose& dose : review.timeline.provisional)
        count += review.period.has(dose.at) ? 1 : 0;
    for (const SlotRecord& record : review.timeline.slots)
        count += record.fate == SlotFate::no_record && review.period.has(record.slot.due.at) ? 1 : 0;
    return count + static_cast<std::int64_t>(review.known.unreadable.size());
}

std::int64_t entries_in(const Known& known) {
    return static_cast<std::int64_t>(known.doses.size() + known.not_given.size() + known.looks.size() +
                                     known.vials.size() + known.weights.size() + known.unreadable.size());
}

void put_supply(json::Value& into, const Review& review) {
    json::Value& forecast = into.add_object("forecast");
    put(forecast, "doses_left", review.forecast.doses_left);
    put(forecast, "last_covered", review.forecast.last_covered);
    put(forecast, "first_uncovered", review.forecast.first_uncovered);
    put(forecast, "rest_ml", review.forecast.rest_ml);
    json::Value& supply = into.add_object("supply");
    put(supply, "days_covered", review.supply.covered);
    put(supply, "days_obtained", review.supply.possession);
}

void put_weeks(json::Value& into, const Review& review) {
    json::Value& weeks = into.add_array("weeks");
    for (const Week& week : review.weeks) {
        json::Value& object = weeks.push_object();
        put(object, "from", week.period.from);
        put(object, "to", week.period.to);
        if (week.figures) put_figures(object.add_object("figures"), *week.figures);
    }
}

// What was seen elsewhere than at sites; what is at sites is followed as lesions.
void put_findings(json::Value& into, const Review& review) {
    json::Value& findings = into.add_array("findings");
    for (const Look& look : review.known.looks) {
        const entry::Finding& finding = look.finding;
        if (!review.period.has(look.at) || is_followed(finding)) continue;
        json::Value& object = findings.push_object();
        put(object, "look", look.id);
        put(object, "at", look.at);
        object.add_string("finding", entry::word_for(finding.what));
        object.add_boolean("present", finding.present);
        put(object, "minutes", finding.minutes);
        if (!look.note.empty()) object.add_string("note", look.note);
    }
}

void put_weights(json::Value& into, const Review& review) {
    json::Value& weights = into.add_array("weights");
    for (const Weighing& one : review.known.weights) {
        if (!review.period.has(one.at)) continue;
        json::Value& object = weights.push_object();
        put(object, "id", one.id);
        put(object, "at", one.at);
        put(object, "kg", one.kg);
        object.add_string("how", entry::word_for(one.how));
    }
}

}  // namespace

void put_zone(json::Value& into, const BodyZone& zone) {
    into.add_string("region", entry::word_for(zone.region));
    into.add_string("side", entry::word_for(zone.side));
}

void put_site(json::Value& into, const entry::Site& site) {
    put_zone(into, {site.region, site.side});
    put(into, "x_cm", site.x_cm);
    put(into, "y_cm", site.y_cm);
}

void put_review(json::Value& into, const Review& review, const entry::Household& household) {
    into.add_string("person", review.person);
    const entry::Person* person = household.person(review.person);
    if (person != nullptr && !person->name.empty()) into.add_string("name", person->name);
    into.add_string("hub", household.hub);
    put(into, "from", review.period.from);
    put(into, "to", review.period.to);
    put(into, "known_at", review.known_at);
    into.add_string("zone", household.zone.name());
    put(into, "entries", entries_in(review.known));
    put(into, "unresolved", unresolved_in(review));
    if (review.figures) put_figures(into.add_object("figures"), *review.figures);
    put_weeks(into, review);
    put_slots(into, review);
    put_doses(into, review);
    put_sites(into, review);
    put_lesions(into, review);
    put_vials(into, review);
    put_supply(into, review);
    put_findings(into, review);
    put_weights(into, review);
    json::Value* unreadable = review.known.unreadable.empty() ? nullptr : &into.add_array("unreadable");
    for (const EntryId& id : review.known.unreadable)
        unreadable->push_string(id.to_string());
}

void put_since_dose(json::Value& into, const SinceDose& since, const std::optional<SampleWindow>& window) {
    put(into, "dose", since.dose);
    put(into, "given", since.given);
    put(into, "elapsed_min", since.elapsed);
    put_if(into, "provisional", since.is_provisional);
    put(into, "certain_dose", since.certain_dose);
    put(into, "certain_elapsed_min", since.certain_elapsed);
    if (window) {
        json::Value& object = into.add_object("window");
        put(object, "from_min", std::chrono::microseconds{window->from});
        put(object, "to_min", std::chrono::microseconds{window->to});
        if (since.in_window) object.add_boolean("inside", *since.in_window);
        if (since.certain_in_window) object.add_boolean("certain_inside", *since.certain_in_window);
        if (since.in_window && !*since.in_window) put(object, "outside_by_min", since.outside_by);
    }
    into.add_boolean("settled", since.is_settled());
    json::Value* undecided = since.undecided.empty() ? nullptr : &into.add_array("undecided");
    for (const EntryId& id : since.undecided)
        undecided->push_string(id.to_string());
    json::Value* unreadable = since.unreadable.empty() ? nullptr : &into.add_array("unreadable");
    for (const EntryId& id : since.unreadable)
        unreadable->push_string(id.to_string());
    json::Value* slots = since.without_record.empty() ? nullptr : &into.add_array("without_record");
    for (const Instant due : since.without_record)
        slots->push_string(to_text(due));
}

void put_flag(json::Value& into, const Flag& flag, const FlagRules& rules) {
    into.add_string("key", flag.key);
    into.add_string("flag", word_for(flag.kind));
    into.add_string("level", word_for(flag.level));
    put(into, "about", flag.about);
    into.add_string("reason", flag.reason);
    into.add_string("text", text_of(flag.level, rules));
    json::Value* entries = flag.entries.empty() ? nullptr : &into.add_array("entries");
    for (const EntryId& id : flag.entries)
        entries->push_string(id.to_string());
}

void put_flag_event(json::Value& into, const FlagEvent& event) {
    into.add_string("event", word_for(event.what));
    put(into, "at", event.at);
    into.add_string("level", word_for(event.level));
    if (!event.by.empty()) into.add_string("by", event.by);
    if (!event.words.empty()) into.add_string("words", event.words);
}

}  // namespace nightferry::care
