// From an entry back to what its form would have said.
#include "daemon/core/overloaded.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/page/typed.hpp"

namespace nightferry::page {

namespace {

std::string text_of(const std::optional<Decimal>& number) {
    return number ? number->to_string() : std::string();
}

void put_site(Typed& into, const entry::Site& site) {
    into.set("place",
             std::string(entry::word_for(site.region)) + " " + std::string(entry::word_for(site.side)));
    into.set("level", site.level ? std::string(entry::word_for(*site.level)) : "");
    into.set("x_cm", text_of(site.x_cm));
    into.set("y_cm", text_of(site.y_cm));
}

struct Fill {
    Typed& into;

    void operator()(const entry::DoseGiven& dose) const {
        into.set("medicine", dose.medicine);
        into.set("amount",
                 dose.amount.value.to_string() + " " + std::string(entry::word_for(dose.amount.unit)));
        put_site(into, dose.site);
        into.set("vial", dose.vial.value_or(""));
        into.set("checked_by", dose.checked_by.value_or(""));
        into.set("separate", dose.separate ? "yes" : "");
    }
    void operator()(const entry::DoseNotGiven& dose) const {
        into.set("medicine", dose.medicine);
        into.set("why", std::string(entry::word_for(dose.why)));
        into.set("instructed_by", dose.instructed_by.value_or(""));
    }
    void operator()(const entry::Finding& finding) const {
        into.set("finding", std::string(entry::word_for(finding.what)));
        into.set("present", finding.present ? "yes" : "no");
        if (finding.site) put_site(into, *finding.site);
        into.set("length_cm", text_of(finding.length_cm));
        into.set("width_cm", text_of(finding.width_cm));
        into.set("pain", text_of(finding.pain));
        into.set("minutes", text_of(finding.minutes));
        into.set("lesion", finding.lesion.value_or(""));
        into.set("dose", finding.dose ? finding.dose->to_string() : "");
    }
    void operator()(const entry::Weight&) const {}
    void operator()(const entry::VialOpened& vial) const {
        into.set("medicine", vial.medicine);
        into.set("vial", vial.vial);
        into.set("volume_ml", text_of(vial.volume_ml));
        into.set("lot", vial.lot.value_or(""));
        into.set("expires", vial.expires.value_or(""));
    }
    void operator()(const entry::Summary&) const {}
};

}  // namespace

Typed typed_of(const entry::Entry& entry, const Zone& zone) {
    Typed typed;
    typed.set("id", entry.id.to_string());
    typed.set("person", entry.person);
    typed.set("by", entry.by);
    typed.set("note", entry.note.value_or(""));
    typed.set("when", "then");
    // Without its offset, as people read their clocks.
    typed.set("time", to_text(zone.at(entry.time.at)).substr(0, std::string_view("2026-10-12T08:00").size()));
    std::string identifiers;
    for (const entry::ForeignIdentifier& one : entry.identifiers)
        identifiers += (identifiers.empty() ? "" : "\n") + one.system + "|" + one.value;
    typed.set("identifiers", identifiers);
    std::visit(Fill{typed}, entry.what);
    return typed;
}

void keep_unshown(Typed& typed, const entry::Entry& entry, const Zone& zone) {
    const Typed before = typed_of(entry, zone);
    for (const char* name : {"id", "person", "identifiers"})
        typed.set(name, before.value(name));
    // A time that was not touched keeps the offset in which it was lived.
    if (typed.value("time") == before.value("time")) typed.set("time", to_text(entry.time));
    const bool is_same_place = typed.value("place") == before.value("place") && !typed.has("y_cm");
    typed.set("level", is_same_place ? before.value("level") : "");
}

}  // namespace nightferry::page
