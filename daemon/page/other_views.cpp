// The forms about what was seen and vials, and the small pages.
#include "daemon/entry/vocabulary.hpp"
#include "daemon/page/views.hpp"

namespace nightferry::page {

namespace {

std::vector<Form::Choice> finding_choices(const Leaf& leaf) {
    std::vector<Form::Choice> choices;
    for (const std::string_view what : entry::choices<entry::FindingKind>())
        choices.push_back({std::string(what), leaf.word(what)});
    return choices;
}

}  // namespace

void put_problems(Leaf& leaf, const Problems& problems) {
    if (problems.empty()) return;
    const auto box = leaf.html.in("div", {{"class", "look"}, {"role", "alert"}});
    leaf.html.put("h2", leaf.say(T::problems));
    const auto list = leaf.html.in("ul", {{"lang", "en"}});
    for (const std::string& problem : problems)
        leaf.html.put("li", problem);
}

void put_finding_fields(Leaf& leaf, Form& form, const Facts& facts) {
    form.pick("finding", T::what, finding_choices(leaf));
    form.choose("present", leaf.say(T::is_there),
                {{"yes", leaf.say(T::still_there)}, {"no", leaf.say(T::not_there)}}, true);
    put_place_picker(leaf, form, facts, false);
    form.line({"length_cm", T::length_cm, "text", "decimal"});
    form.line({"width_cm", T::width_cm, "text", "decimal"});
    form.line({"lesion", T::lesion}, leaf.say(T::lesion_hint));
    form.line({"pain", T::pain, "text", "numeric"});
    form.line({"minutes", T::minutes, "text", "numeric"});
    put_when(leaf, form);
    form.choose("by", leaf.say(T::who_saw), carer_choices(leaf), true);
    form.paragraph("note", T::note, T::note_hint);
}

void put_vial_fields(Leaf& leaf, Form& form, const Facts& facts) {
    form.pick("medicine", T::medicine, medicine_choices(leaf, facts));
    form.line({"vial", T::vial_label, "text", "", true});
    form.line({"volume_ml", T::volume_ml, "text", "decimal"});
    form.line({"lot", T::lot});
    form.line({"expires", T::expires}, leaf.say(T::expires_hint));
    put_when(leaf, form);
    form.choose("by", leaf.say(T::who_opened), carer_choices(leaf), true);
    form.paragraph("note", T::note, T::note_hint);
}

std::string finding_view(const Backdrop& at, const Facts& facts, const Typed& typed,
                         const Problems& problems) {
    return whole_page(at, at.speaker.say(T::finding), [&](Leaf& leaf) {
        put_problems(leaf, problems);
        leaf.html.put("p", leaf.say(T::of_person, {leaf.person(facts.person)}));
        Form form(leaf, "/finding", typed, {"person", "id", "typed_at"});
        put_finding_fields(leaf, form, facts);
        form.send(leaf.say(T::save_finding));
    });
}

std::string vial_view(const Backdrop& at, const Facts& facts, const Typed& typed, const Problems& problems) {
    return whole_page(at, at.speaker.say(T::vial_opened), [&](Leaf& leaf) {
        put_problems(leaf, problems);
        leaf.html.put("p", leaf.say(T::of_person, {leaf.person(facts.person)}));
        Form form(leaf, "/vial", typed, {"person", "id", "typed_at"});
        put_vial_fields(leaf, form, facts);
        form.send(leaf.say(T::save_vial));
    });
}

std::string pair_view(const Backdrop& at, const std::optional<T>& remark) {
    return whole_page(at, at.speaker.say(T::pair_heading), [&](Leaf& leaf) {
        if (remark) leaf.html.put("p", {{"class", "look"}, {"role", "alert"}}, leaf.say(*remark));
        leaf.html.put("p", leaf.say(T::pair_how));
        const Typed nothing;
        Form form(leaf, "/pair", nothing, {});
        form.line({"code", T::code, "text", "", true});
        form.send(leaf.say(T::pair));
    });
}

std::string message_view(const Backdrop& at, T message) {
    return whole_page(at, at.speaker.say(T::name), [&](Leaf& leaf) {
        leaf.html.put("p", {{"class", "look"}, {"role", "alert"}}, leaf.say(message));
        leaf.button_to("/", leaf.say(T::to_start));
    });
}

}  // namespace nightferry::page
