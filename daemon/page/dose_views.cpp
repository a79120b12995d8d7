// The forms about doses: given, and not given.
#include <algorithm>

#include "daemon/entry/vocabulary.hpp"
#include "daemon/page/views.hpp"

namespace nightferry::page {

namespace {

// The scheduled dose that lies nearest to now, whether anything was recorded before or not.
std::optional<care::Slot> nearest_slot(const Facts& facts, Instant now) {
    if (facts.plan == nullptr) return std::nullopt;
    constexpr std::chrono::days around{2};
    const auto slots = care::slots_between(facts.plan->regimen, now - around, now + around);
    if (slots.empty()) return std::nullopt;
    return *std::ranges::min_element(
        slots, {}, [&](const care::Slot& one) { return std::chrono::abs(one.due.at - now); });
}

std::string written(const entry::Amount& amount) {
    return amount.value.to_string() + " " + std::string(entry::word_for(amount.unit));
}

// The one that was named before, and those that were opened, newest first.
std::vector<Form::Choice> vial_choices(const Leaf& leaf, const Facts& facts, const std::string& named) {
    std::vector<Form::Choice> choices{{"", leaf.say(T::no_vial)}};
    if (!named.empty()) choices.push_back({named, named});
    if (!facts.review) return choices;
    const auto& vials = facts.review->known.vials;
    for (auto vial = vials.rbegin(); vial != vials.rend() && choices.size() < 6; ++vial)
        if (vial->label != named) choices.push_back({vial->label, vial->label});
    return choices;
}

std::vector<Form::Choice> reason_choices(const Leaf& leaf) {
    std::vector<Form::Choice> choices;
    for (const std::string_view why : entry::choices<entry::WhyNotGiven>())
        choices.push_back({std::string(why), leaf.word(why)});
    return choices;
}

// What was ordered when the form was made is offered; without that, and for what was recorded before, it is a
// line.
void put_amount(Leaf& leaf, Form& form) {
    const Typed& typed = form.typed();
    if (!typed.has("ordered_amount")) return form.line({"amount", T::another_amount, "text", "", true});
    const std::string ordered = leaf.say(
        T::as_ordered, {leaf.at.speaker.number(typed.value("ordered_amount")), typed.value("ordered_for")});
    form.choose("amount_is", leaf.say(T::amount),
                {{"ordered", ordered}, {"other", leaf.say(T::another_amount)}}, true);
    const auto around = leaf.html.in("div", {{"class", "other"}});
    leaf.html.put("input", {{"name", "other_amount"},
                            {"value", typed.value("other_amount")},
                            {"aria-label", leaf.say(T::another_amount)}});
}

std::string taken_words(const Leaf& leaf, const Taken& taken) {
    if (taken.dose) {
        return leaf.say(T::already_given, {leaf.amount(taken.dose->amount), leaf.time_of_day(taken.dose->at),
                                           leaf.carer(taken.dose->by)});
    }
    const std::string due = leaf.time_of_day(taken.slot.slot.due.at);
    if (taken.slot.fate == care::SlotFate::held) return leaf.say(T::slot_held, {due});
    return leaf.say(taken.slot.fate == care::SlotFate::undecided ? T::slot_undecided : T::slot_missed, {due});
}

void put_taken(Leaf& leaf, const Taken& taken) {
    const auto box = leaf.html.in("div", {{"class", "look"}, {"role", "alert"}});
    leaf.html.put("h2", leaf.say(T::already_there, {leaf.clock(taken.slot.slot.due.at)}));
    leaf.html.put("p", taken_words(leaf, taken));
}

}  // namespace

std::vector<Form::Choice> medicine_choices(const Leaf& leaf, const Facts& facts) {
    std::vector<Form::Choice> choices;
    for (const entry::Medicine& medicine : leaf.at.household.medicines)
        choices.push_back({medicine.key, medicine.key});
    const auto slot = nearest_slot(facts, leaf.at.now);
    // The ordered one first.
    if (slot)
        std::ranges::stable_partition(choices, [&](const Form::Choice& one) {
            return one.value == facts.plan->regimen.orders[slot->order].medicine;
        });
    return choices;
}

std::vector<Form::Choice> carer_choices(const Leaf& leaf) {
    std::vector<Form::Choice> choices;
    for (const entry::Carer& carer : leaf.at.household.carers)
        choices.push_back({carer.key, carer.name});
    return choices;
}

void put_when(Leaf& leaf, Form& form) {
    form.choose("when", leaf.say(T::when), {{"now", leaf.say(T::now)}, {"then", leaf.say(T::another_time)}},
                true);
    const auto around = leaf.html.in("div", {{"class", "other"}});
    leaf.html.put("input", {{"type", "datetime-local"},
                            {"name", "time"},
                            {"value", form.typed().value("time")},
                            {"aria-label", leaf.say(T::another_time)}});
}

Typed blank_dose(const Facts& facts, const Backdrop& at, const std::string& device_carer,
                 const std::string& id) {
    Typed typed;
    typed.set("person", facts.person);
    typed.set("id", id);
    typed.set("by", device_carer);
    typed.set("when", "now");
    typed.set("amount_is", "ordered");
    typed.set("present", "yes");
    if (const auto slot = nearest_slot(facts, at.now)) {
        typed.set("ordered_amount", written(care::dose_of(facts.plan->regimen, *slot).amount));
        typed.set("ordered_for", time_of_day(at, slot->due.at));
    }
    return typed;
}

void put_dose_fields(Leaf& leaf, Form& form, const Facts& facts) {
    put_amount(leaf, form);
    form.pick("medicine", T::medicine, medicine_choices(leaf, facts));
    put_place_picker(leaf, form, facts, true);
    put_when(leaf, form);
    form.choose("by", leaf.say(T::who_gave), carer_choices(leaf), true);
    const auto details = leaf.html.in("details");
    leaf.html.put("summary", leaf.say(T::more));
    auto checkers = carer_choices(leaf);
    checkers.insert(checkers.begin(), {"", leaf.say(T::nobody)});
    form.pick("checked_by", T::who_checked, checkers);
    form.pick("vial", T::vial, vial_choices(leaf, facts, form.typed().value("vial")));
    form.paragraph("note", T::note, T::note_hint);
}

void put_not_given_fields(Leaf& leaf, Form& form, const Facts& facts) {
    form.pick("medicine", T::medicine, medicine_choices(leaf, facts));
    form.line({"time", T::due_time, "datetime-local", "", true});
    form.choose("why", leaf.say(T::why), reason_choices(leaf), true);
    form.line({"instructed_by", T::instructed_by});
    form.choose("by", leaf.say(T::who_decided), carer_choices(leaf), true);
    form.paragraph("note", T::note, T::note_hint);
}

std::string dose_view(const Backdrop& at, const Facts& facts, const Typed& typed, const Problems& problems,
                      const std::optional<Taken>& taken) {
    return whole_page(at, at.speaker.say(T::dose_given), [&](Leaf& leaf) {
        put_problems(leaf, problems);
        if (taken) put_taken(leaf, *taken);
        leaf.html.put("p", leaf.say(T::of_person, {leaf.person(facts.person)}));
        Form form(leaf, "/dose", typed,
                  {"person", "id", "ordered_amount", "ordered_for", "separate", "typed_at"});
        put_dose_fields(leaf, form, facts);
        if (taken) form.confirm("even_so", leaf.say(T::record_even_so));
        form.confirm("confirmed", leaf.say(T::confirm_dose));
        form.send(leaf.say(T::save_dose));
    });
}

std::string not_given_view(const Backdrop& at, const Facts& facts, const Typed& typed,
                           const Problems& problems, const std::optional<Taken>& taken) {
    return whole_page(at, at.speaker.say(T::dose_not_given), [&](Leaf& leaf) {
        put_problems(leaf, problems);
        if (taken) put_taken(leaf, *taken);
        leaf.html.put("p", leaf.say(T::of_person, {leaf.person(facts.person)}));
        Form form(leaf, "/not-given", typed, {"person", "id", "typed_at"});
        put_not_given_fields(leaf, form, facts);
        if (taken) form.confirm("even_so", leaf.say(T::record_even_so));
        form.send(leaf.say(T::save_not_given));
    });
}

}  // namespace nightferry::page
