// The first page: what the clinic has, the day's doses, what to record, and the facts about places.
#include <algorithm>

#include "daemon/care/result_words.hpp"
#include "daemon/page/views.hpp"

namespace nightferry::page {

namespace {

constexpr std::size_t doses_shown = 6;

std::string crossing_words(const Leaf& leaf, const Crossing& crossing) {
    const logbook::QueueCounts& counts = crossing.counts;
    std::string words;
    const auto add = [&](const std::string& sentence) { words += (words.empty() ? "" : " ") + sentence; };
    if (counts.set_aside > 0) add(leaf.count(T::some_aside, counts.set_aside, {crossing.clinic}));
    if (crossing.is_running) add(leaf.say(T::running_now, {crossing.clinic}));
    if (crossing.state.failures > 0 && !crossing.is_running)
        add(leaf.say(T::not_reached, {crossing.clinic, leaf.clock(crossing.state.not_before)}));
    if (counts.waiting > 0) {
        add(leaf.count(T::some_wait, counts.waiting, {crossing.clinic}));
    } else if (crossing.state.pass_ended == Instant()) {
        add(leaf.say(T::never_ran, {crossing.clinic}));
    } else if (counts.set_aside == 0) {
        add(leaf.say(T::all_arrived, {crossing.clinic, leaf.clock(crossing.state.pass_ended)}));
    }
    return words;
}

void put_crossings(Leaf& leaf, const std::vector<Crossing>& crossings) {
    leaf.section("crossing", T::crossing, [&] {
        if (crossings.empty()) leaf.html.put("p", leaf.say(T::no_clinic));
        for (const Crossing& one : crossings)
            leaf.html.put("p", {{"class", one.counts.set_aside > 0 ? "look" : ""}},
                          crossing_words(leaf, one));
    });
}

// A slot without anything recorded around it has no record yet.
const care::SlotRecord* record_of(const care::Review& review, const care::Slot& slot) {
    const auto& slots = review.timeline.slots;
    const auto found = std::ranges::find_if(
        slots, [&](const care::SlotRecord& one) { return one.slot.due.at == slot.due.at; });
    return found == slots.end() ? nullptr : &*found;
}

care::SlotFate fate_of(const care::SlotRecord* record, const care::Slot& slot) {
    if (record != nullptr) return record->fate;
    return slot.held ? care::SlotFate::held : care::SlotFate::due;
}

std::string slot_words(const Leaf& leaf, const care::Review& review, const care::Slot& slot,
                       const care::SlotRecord* record) {
    const std::string due = leaf.time_of_day(slot.due.at);
    switch (fate_of(record, slot)) {
        case care::SlotFate::given: {
            const care::GivenDose& given = review.timeline.doses[*record->dose].given;
            return leaf.say(T::slot_given, {due, leaf.time_of_day(given.at), leaf.carer(given.by)});
        }
        case care::SlotFate::held:
            return leaf.say(T::slot_held, {due});
        case care::SlotFate::missed:
            return leaf.say(T::slot_missed, {due});
        case care::SlotFate::undecided:
            return leaf.say(T::slot_undecided, {due});
        case care::SlotFate::no_record:
            return leaf.say(T::slot_no_record, {due});
        case care::SlotFate::due:
            return leaf.say(T::slot_open, {due});
    }
    return due;
}

// Those of the home's day that it is now.
void put_slots(Leaf& leaf, const Facts& facts) {
    leaf.section("slots", T::slots, [&] {
        if (!facts.review) return leaf.html.put("p", leaf.say(T::no_order, {leaf.person(facts.person)}));
        const std::string today = leaf.day(leaf.at.now);
        constexpr std::chrono::days around{1};
        const auto list = leaf.html.in("ul", {{"class", "slots"}});
        for (const care::Slot& slot :
             care::slots_between(facts.plan->regimen, leaf.at.now - around, leaf.at.now + around)) {
            if (leaf.day(slot.due.at) != today) continue;
            const care::SlotRecord* record = record_of(*facts.review, slot);
            leaf.html.put("li", {{"class", std::string(care::word_for(fate_of(record, slot)))}},
                          slot_words(leaf, *facts.review, slot, record));
        }
    });
}

void put_buttons(Leaf& leaf, const Facts& facts) {
    leaf.section("record", T::record, [&] {
        const auto nav = leaf.html.in("nav", {{"class", "buttons"}, {"aria-labelledby", "record"}});
        const std::string of = "?person=" + facts.person;
        leaf.button_to("/dose" + of, leaf.say(T::dose_given));
        leaf.button_to("/not-given" + of, leaf.say(T::dose_not_given));
        leaf.button_to("/finding" + of, leaf.say(T::finding));
        leaf.button_to("/vial" + of, leaf.say(T::vial_opened));
    });
}

void put_doses(Leaf& leaf, const Facts& facts) {
    leaf.section("doses", T::last_doses, [&] {
        if (facts.doses.empty()) return leaf.html.put("p", leaf.say(T::no_doses));
        const auto list = leaf.html.in("ul", {{"class", "entries"}});
        for (std::size_t i = 0; i < std::min(doses_shown, facts.doses.size()); ++i) {
            const entry::Entry& dose = facts.doses[i].current.content;
            const auto item = leaf.html.in("li");
            leaf.html.put("a", {{"href", "/entry/" + dose.id.to_string()}},
                          leaf.clock(dose.time.at) + ": " + entry_words(leaf, dose));
        }
    });
}

void put_flags(Leaf& leaf, const Facts& facts) {
    leaf.section("flags", T::flags, [&] {
        if (!facts.review || facts.review->flags.empty()) return leaf.html.put("p", leaf.say(T::no_flags));
        const auto list = leaf.html.in("ul");
        for (const care::Flag& flag : facts.review->flags) {
            const auto item = leaf.html.in("li", {{"class", "flag"}});
            leaf.html.put("strong", leaf.word(care::word_for(flag.level)) + ": ");
            leaf.html.put("span", {{"lang", "en"}}, flag.reason);
        }
    });
}

void put_places(Leaf& leaf, const Facts& facts) {
    if (!facts.review || facts.review->zones.empty()) return;
    leaf.section("places", T::places, [&] {
        const auto table = leaf.html.in("table");
        leaf.html.put("caption", leaf.say(T::places_caption));
        {
            const auto head = leaf.html.in("thead");
            const auto row = leaf.html.in("tr");
            for (const T column : {T::column_place, T::column_last, T::column_recent, T::column_rests})
                leaf.html.put("th", {{"scope", "col"}}, leaf.say(column));
        }
        const auto body = leaf.html.in("tbody");
        for (const care::ZoneUse& zone : facts.review->zones) {
            const auto row = leaf.html.in("tr");
            leaf.html.put("th", {{"scope", "row"}}, leaf.place(zone.zone));
            leaf.html.put("td", zone.last ? leaf.ago(*zone.last) : leaf.say(T::never_used));
            leaf.html.put("td", std::to_string(zone.recent.size()));
            leaf.html.put("td", rest_words(leaf, zone));
        }
    });
}

}  // namespace

std::string rest_words(const Leaf& leaf, const care::ZoneUse& zone) {
    if (!zone.rests) return leaf.say(T::does_not_rest);
    return zone.rests_until ? leaf.say(T::rests_until, {leaf.clock(*zone.rests_until)}) : leaf.say(T::rests);
}

std::string people_view(const Backdrop& at) {
    return whole_page(at, at.speaker.say(T::choose_person), [&](Leaf& leaf) {
        const auto nav =
            leaf.html.in("nav", {{"class", "buttons"}, {"aria-label", leaf.say(T::choose_person)}});
        for (const entry::Person& person : at.household.persons)
            leaf.button_to("/?person=" + person.key, person.name);
    });
}

std::string start_view(const Backdrop& at, const Facts& facts, const std::vector<Crossing>& crossings) {
    const entry::Person* person = at.household.person(facts.person);
    return whole_page(at, person == nullptr ? facts.person : person->name, [&](Leaf& leaf) {
        put_slots(leaf, facts);
        put_buttons(leaf, facts);
        put_crossings(leaf, crossings);
        put_flags(leaf, facts);
        put_doses(leaf, facts);
        put_places(leaf, facts);
    });
}

}  // namespace nightferry::page
