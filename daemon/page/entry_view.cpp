// One entry: what it says, what became of it, and the forms by which it is amended or taken back.
#include "daemon/core/overloaded.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/page/views.hpp"

namespace nightferry::page {

namespace {

std::string site_words(const Leaf& leaf, const entry::Site& site) {
    std::string words = leaf.place(care::zone_of(site));
    if (site.x_cm && site.y_cm) {
        words += " (" + leaf.at.speaker.number(site.x_cm->to_string()) + "; " +
                 leaf.at.speaker.number(site.y_cm->to_string()) + ")";
    }
    return words;
}

T revision_text(entry::Action action) {
    switch (action) {
        case entry::Action::record:
            return T::recorded_by;
        case entry::Action::amend:
            return T::amended_by;
        case entry::Action::retract:
            return T::retracted_by;
    }
    return T::recorded_by;
}

std::string delivery_words(const Leaf& leaf, const logbook::Delivery& delivery) {
    switch (delivery.state) {
        case logbook::DeliveryState::confirmed:
            return leaf.say(T::clinic_has_it, {delivery.clinic});
        case logbook::DeliveryState::waiting:
        case logbook::DeliveryState::under_way:
            return leaf.say(T::goes_to_clinic, {delivery.clinic});
        case logbook::DeliveryState::set_aside:
            return leaf.say(T::not_accepted, {delivery.clinic});
        case logbook::DeliveryState::closed:
            return leaf.say(T::settled_with, {delivery.clinic});
        case logbook::DeliveryState::withdrawn:
            return leaf.say(T::not_shared_with, {delivery.clinic});
    }
    return {};
}

void put_deliveries(Leaf& leaf, const logbook::EntryRecord& entry) {
    for (const logbook::Delivery& delivery : entry.deliveries)
        leaf.html.put("p", delivery_words(leaf, delivery));
}

void put_fields(Leaf& leaf, Form& form, const Facts& facts, entry::Kind kind) {
    switch (kind) {
        case entry::Kind::dose_given:
            return put_dose_fields(leaf, form, facts);
        case entry::Kind::dose_not_given:
            return put_not_given_fields(leaf, form, facts);
        case entry::Kind::finding:
            return put_finding_fields(leaf, form, facts);
        case entry::Kind::vial_opened:
            return put_vial_fields(leaf, form, facts);
        case entry::Kind::weight:
        case entry::Kind::summary:
            break;
    }
}

}  // namespace

bool has_form(const entry::Entry& entry) {
    return entry.kind() != entry::Kind::weight && entry.kind() != entry::Kind::summary;
}

std::string entry_words(const Leaf& leaf, const entry::Entry& entry) {
    return std::visit(
        Overloaded{
            [&](const entry::DoseGiven& dose) {
                return leaf.amount(dose.amount) + " " + dose.medicine + ", " + site_words(leaf, dose.site) +
                       ", " + leaf.carer(entry.by);
            },
            [&](const entry::DoseNotGiven& dose) {
                return leaf.say(T::dose_not_given) + ", " + leaf.word(entry::word_for(dose.why));
            },
            [&](const entry::Finding& finding) {
                std::string words = leaf.word(entry::word_for(finding.what));
                if (finding.site) words += ", " + site_words(leaf, *finding.site);
                if (finding.length_cm)
                    words += ", " + leaf.at.speaker.number(finding.length_cm->to_string()) + " cm";
                return finding.present ? words : words + ", " + leaf.say(T::not_there);
            },
            [&](const entry::Weight& weight) {
                return leaf.at.speaker.number(weight.kg.to_string()) + " kg";
            },
            [&](const entry::VialOpened& vial) { return leaf.say(T::vial_opened) + ", " + vial.vial; },
            [&](const entry::Summary&) { return std::string(entry::word_for(entry::Kind::summary)); },
        },
        entry.what);
}

std::string entry_view(const Backdrop& at, const logbook::EntryRecord& entry, const std::optional<T>& news) {
    const entry::Entry& content = entry.current.content;
    return whole_page(at, at.speaker.say(T::entry_heading), [&](Leaf& leaf) {
        if (news) leaf.html.put("p", {{"class", "news"}, {"role", "status"}}, leaf.say(*news));
        const bool is_taken_back = entry.current.action() == entry::Action::retract;
        leaf.html.put("p", leaf.person(content.person) + ", " + leaf.clock(content.time.at) + ": " +
                               entry_words(leaf, content) +
                               (is_taken_back ? ", " + leaf.say(T::taken_back) : ""));
        if (content.note) leaf.html.put("p", *content.note);
        put_deliveries(leaf, entry);
        leaf.section("revisions", T::revisions, [&] {
            const auto list = leaf.html.in("ul");
            for (const entry::Version& version : entry.revisions) {
                leaf.html.put("li", leaf.say(revision_text(version.action()),
                                             {leaf.clock(version.accepted),
                                              leaf.carer(version.submission.recorded_by)}));
            }
        });
        const auto nav =
            leaf.html.in("nav", {{"class", "buttons"}, {"aria-label", leaf.say(T::entry_heading)}});
        leaf.button_to("/?person=" + content.person, leaf.say(T::to_start));
        const std::string address = "/entry/" + content.id.to_string();
        if (is_taken_back) return;
        if (has_form(content)) leaf.button_to(address + "/amend", leaf.say(T::amend));
        leaf.button_to(address + "/retract", leaf.say(T::retract));
    });
}

std::string amend_view(const Backdrop& at, const Facts& facts, const logbook::EntryRecord& entry,
                       const Typed& typed, const Problems& problems) {
    const entry::Entry& content = entry.current.content;
    return whole_page(at, at.speaker.say(T::amend_heading), [&](Leaf& leaf) {
        put_problems(leaf, problems);
        leaf.html.put("p", leaf.say(T::of_person, {leaf.person(content.person)}));
        Form form(leaf, "/entry/" + content.id.to_string() + "/amend", typed,
                  {"person", "id", "separate", "dose", "typed_at"});
        put_fields(leaf, form, facts, content.kind());
        form.line({"reason", T::reason, "text", "", true}, leaf.say(T::reason_hint));
        form.send(leaf.say(T::save_amendment));
    });
}

std::string retract_view(const Backdrop& at, const logbook::EntryRecord& entry, const Typed& typed,
                         const Problems& problems) {
    const entry::Entry& content = entry.current.content;
    return whole_page(at, at.speaker.say(T::retract), [&](Leaf& leaf) {
        put_problems(leaf, problems);
        leaf.html.put("p", leaf.clock(content.time.at) + ": " + entry_words(leaf, content));
        leaf.html.put("p", leaf.say(T::retract_hint));
        Form form(leaf, "/entry/" + content.id.to_string() + "/retract", typed, {"id", "typed_at"});
        form.line({"reason", T::reason, "text", "", true}, leaf.say(T::reason_hint));
        form.send(leaf.say(T::save_retraction));
    });
}

}  // namespace nightferry::page
