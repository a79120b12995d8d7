#include <algorithm>

#include "daemon/care/json_parts.hpp"
#include "daemon/care/result_words.hpp"
#include "daemon/care/review.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::care {

namespace {

void put_site_notes(json::Value& into, const Review& review) {
    std::map<EntryId, Instant> given;
    for (const DoseRecord& dose : review.timeline.doses)
        given.emplace(dose.given.id, dose.given.at);
    json::Value& notes = into.add_array("notes");
    for (const SiteNote& note : review.sites) {
        if (!review.period.has(given.at(note.dose))) continue;
        json::Value& object = notes.push_object();
        put(object, "dose", note.dose);
        object.add_string("concern", word_for(note.concern));
        put(object, "distance_cm", note.distance_cm);
        put(object, "limit_cm", note.limit_cm);
        put(object, "other", note.other);
        put(object, "other_at", note.other_at);
        if (!note.why.empty()) object.add_string("why", note.why);
    }
}

void put_recent(json::Value& into, const ZoneUse& use) {
    json::Value& recent = into.add_array("recent");
    for (const Injection& one : use.recent) {
        json::Value& object = recent.push_object();
        put(object, "dose", one.dose);
        put(object, "given", one.at);
        put(object, "x_cm", one.site.x_cm);
        put(object, "y_cm", one.site.y_cm);
    }
}

std::int64_t injections_in(const Review& review, const BodyZone& zone) {
    return std::ranges::count_if(review.timeline.doses, [&](const DoseRecord& dose) {
        return review.period.has(dose.given.at) && zone_of(dose.given.site) == zone;
    });
}

void put_zones(json::Value& into, const Review& review) {
    const Instant at = std::min(review.period.to, review.known_at);
    json::Value& zones = into.add_array("zones");
    for (const ZoneUse& use : review.zones) {
        json::Value& object = zones.push_object();
        put_zone(object, use.zone);
        put(object, "injections", injections_in(review, use.zone));
        put(object, "recent_injections", static_cast<std::int64_t>(use.recent.size()));
        put_recent(object, use);
        put(object, "last", use.last);
        put(object, "last_dose", use.last_dose);
        if (use.last) put(object, "unused_for_min", at - *use.last);
        put_if(object, "rests", use.rests);
        put(object, "rests_until", use.rests_until);
    }
}

void put_assessment(json::Value& into, const Assessment& one) {
    put(into, "look", one.look);
    put(into, "at", one.at);
    put(into, "length_cm", one.length_cm);
    put(into, "width_cm", one.width_cm);
    put(into, "area_cm2", one.area_cm2);
    put(into, "ratio", one.ratio);
    into.add_string("trend", word_for(one.trend));
    put_if(into, "persistent_growth", one.persistent_growth);
    put_if(into, "large", one.is_large);
}

bool concerns(const Lesion& lesion, const Period& period) {
    return lesion.first_seen < period.to && (!lesion.resolved || *lesion.resolved >= period.from);
}

void put_vial(json::Value& into, const VialState& vial) {
    put(into, "opened_by", vial.opened_by);
    into.add_string("vial", vial.label);
    into.add_string("medicine", vial.medicine);
    put(into, "opened", vial.opened);
    put(into, "lot", vial.lot);
    put(into, "volume_ml", vial.volume_ml);
    put(into, "draws", vial.draws);
    put(into, "draws_after_end", vial.draws_after_end);
    put(into, "injected_ml", vial.injected_ml);
    put(into, "lost_ml", vial.lost_ml);
    put(into, "left_ml", vial.left_ml);
    put(into, "content_given", vial.content_given);
    put(into, "usable_until", vial.usable_until);
    put_if(into, "until_printed_date", vial.is_expiry);
    into.add_string("discard_on", to_text(vial.discard_on));
}

}  // namespace

void put_sites(json::Value& into, const Review& review) {
    json::Value& sites = into.add_object("sites");
    put_site_notes(sites, review);
    put_zones(sites, review);
    if (review.rotation.last) put_zone(sites.add_object("last_zone"), *review.rotation.last);
    if (review.rotation.next) put_zone(sites.add_object("next_in_configured_order"), *review.rotation.next);
}

void put_lesions(json::Value& into, const Review& review) {
    json::Value& lesions = into.add_array("lesions");
    for (const Lesion& lesion : review.lesions) {
        if (!concerns(lesion, review.period)) continue;
        json::Value& object = lesions.push_object();
        if (!lesion.label.empty()) object.add_string("lesion", lesion.label);
        object.add_string("finding", entry::word_for(lesion.what));
        if (lesion.site) put_site(object, *lesion.site);
        put(object, "first_seen", lesion.first_seen);
        put(object, "resolved", lesion.resolved);
        if (lesion.resolved) put(object, "lasted_min", *lesion.resolved - lesion.first_seen);
        put(object, "dose", lesion.dose);
        if (lesion.dose) object.add_string("dose_is", lesion.dose_is_stated ? "stated" : "nearest");
        if (lesion.dose_at) put(object, "seen_after_dose_min", lesion.first_seen - *lesion.dose_at);
        json::Value& looks = object.add_array("looks");
        for (const Assessment& one : lesion.assessments)
            put_assessment(looks.push_object(), one);
    }
}

void put_vials(json::Value& into, const Review& review) {
    json::Value& vials = into.add_array("vials");
    for (const VialState& vial : review.vials.vials)
        put_vial(vials.push_object(), vial);
    json::Value& notes = into.add_array("vial_notes");
    for (const VialNote& note : review.vials.notes) {
        json::Value& object = notes.push_object();
        put(object, "dose", note.dose);
        object.add_string("concern", word_for(note.concern));
        if (!note.label.empty()) object.add_string("vial", note.label);
        put(object, "limit", note.limit);
    }
}

}  // namespace nightferry::care
