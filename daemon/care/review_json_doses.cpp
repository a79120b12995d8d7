#include "daemon/care/json_parts.hpp"
#include "daemon/care/result_words.hpp"
#include "daemon/care/review.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::care {

namespace {

void put_content(json::Value& list, const std::string& medicine, const Content& content) {
    json::Value& object = list.push_object();
    object.add_string("medicine", medicine);
    put(object, "given", content.given);
    put(object, "ordered", content.ordered);
    object.add_string("unit", entry::word_for(content.unit));
    put(object, "percent", content.percent());
}

void put_carers(json::Value& into, const Adherence& figures) {
    json::Value& carers = into.add_array("carers");
    for (const auto& [carer, of] : figures.by_carer) {
        json::Value& object = carers.push_object();
        object.add_string("carer", carer);
        put(object, "given", of.given);
        put(object, "near_time", of.near_time);
        put(object, "ordered_amount", of.ordered_amount);
    }
}

void put_counts(json::Value& into, const Adherence& figures) {
    json::Value& counts = into.add_object("counts");
    for (const auto timing : {Timing::on_time, Timing::early, Timing::late, Timing::very_late}) {
        const auto found = figures.timings.find(timing);
        put(counts, word_for(timing), found == figures.timings.end() ? std::int64_t{0} : found->second);
    }
    put(counts, "extra", figures.extra);
    put(counts, "missed", figures.missed);
    put(counts, "no_record", figures.no_record);
    put(counts, "held", figures.held);
    put(counts, "due", figures.due);
    put(counts, "undecided", figures.undecided);
    put(counts, "provisional", figures.provisional);
}

void put_check(json::Value& into, const AmountCheck& check) {
    into.add_string("verdict", word_for(check.verdict));
    put(into, "percent_of_order", check.percent);
}

void put_syringe(json::Value& into, const SyringeUse& use) {
    put(into, "mark", use.mark);
    put_if(into, "between_marks", !use.mark && !use.is_beyond_capacity);
    put_if(into, "beyond_syringe", use.is_beyond_capacity);
    put(into, "tolerance_ml", use.tolerance_ml);
    put_if(into, "hardly_measurable", use.is_hardly_measurable);
    put(into, "discarded_ml", use.discarded_ml);
    put(into, "discarded", use.discarded);
}

void put_dose(json::Value& into, const GivenDose& dose) {
    put(into, "id", dose.id);
    put(into, "given", dose.at);
    into.add_string("by", dose.by);
    into.add_string("medicine", dose.medicine);
    put(into, "amount", dose.amount.value);
    into.add_string("unit", entry::word_for(dose.amount.unit));
    put(into, "content", dose.size.content);
    into.add_string("content_unit", entry::word_for(dose.size.unit));
    put_site(into, dose.site);
    put(into, "vial", dose.vial);
    put(into, "recorded", dose.recorded);
}

}  // namespace

void put_figures(json::Value& into, const Adherence& figures) {
    put(into, "taken", figures.taken);
    put(into, "slots_filled", figures.slots_filled);
    put(into, "days_as_ordered", figures.days_as_ordered);
    put(into, "days_covered", figures.days_covered);
    put(into, "near_time", figures.near_time);
    put(into, "wide_time", figures.wide_time);
    put(into, "intervals", figures.intervals);
    put(into, "ordered_amount", figures.ordered_amount);
    json::Value& contents = into.add_array("contents");
    for (const auto& [medicine, content] : figures.contents)
        put_content(contents, medicine, content);
    put_counts(into, figures);
    put_carers(into, figures);
    put(into, "deviation_sum_min", figures.deviation_sum);
    put(into, "deviation_size_sum_min", figures.deviation_size_sum);
    put(into, "deviation_median_min", figures.deviation_median);
    put(into, "longest_gap_min", figures.longest_gap);
    put(into, "beyond_gap_max_min", figures.beyond_gap_max);
    put(into, "longest_entry_lag_min", figures.longest_entry_lag);
}

void put_slots(json::Value& into, const Review& review) {
    json::Value& slots = into.add_array("slots");
    for (const SlotRecord& record : review.timeline.slots) {
        if (!review.period.has(record.slot.due.at)) continue;
        json::Value& object = slots.push_object();
        put(object, "due", record.slot.due.at);
        object.add_string("medicine", record.medicine);
        put(object, "ordered", record.ordered.content);
        object.add_string("unit", entry::word_for(record.ordered.unit));
        put(object, "ordered_ml", record.ordered.ml);
        object.add_string("fate", word_for(record.fate));
        if (record.dose) {
            const DoseRecord& dose = review.timeline.doses[*record.dose];
            put(object, "dose", dose.given.id);
            object.add_string("timing", word_for(dose.timing));
            put(object, "deviation_min", review.timeline.deviation_of(dose));
        }
        put(object, "declared_by", record.declared);
        if (record.why) object.add_string("why", entry::word_for(*record.why));
        if (!record.instructed_by.empty()) object.add_string("instructed_by", record.instructed_by);
    }
}

void put_doses(json::Value& into, const Review& review) {
    json::Value& doses = into.add_array("doses");
    for (std::size_t i = 0; i < review.timeline.doses.size(); ++i) {
        const DoseRecord& record = review.timeline.doses[i];
        const Instant counts_at =
            record.slot ? review.timeline.slots[*record.slot].slot.due.at : record.given.at;
        if (!review.period.has(counts_at)) continue;
        json::Value& object = doses.push_object();
        put_dose(object, record.given);
        if (record.slot) put(object, "slot", counts_at);
        put_if(object, "extra", !record.slot);
        put_if(object, "while_held", record.while_held);
        const DoseFacts& facts = review.doses[i];
        if (facts.check) put_check(object, *facts.check);
        if (facts.syringe) put_syringe(object, *facts.syringe);
    }
    json::Value& provisional = into.add_array("provisional");
    for (const GivenDose& dose : review.timeline.provisional) {
        if (review.period.has(dose.at)) put_dose(provisional.push_object(), dose);
    }
    json::Value& doubles = into.add_array("doubles");
    for (const PossibleDouble& one : review.timeline.doubles) {
        const GivenDose& later = review.known.doses[one.later];
        if (!review.period.has(later.at)) continue;
        json::Value& object = doubles.push_object();
        put(object, "earlier", review.known.doses[one.earlier].id);
        put(object, "later", later.id);
        object.add_string("kind", word_for(one.kind));
        object.add_boolean("decided", one.decided);
        put(object, "apart_min", later.at - review.known.doses[one.earlier].at);
    }
}

}  // namespace nightferry::care
