// The part of World about what must hold: at every step, at every start, and in the end.
#include "daemon/entry/free_texts.hpp"
#include "fhir/exchange/same_content.hpp"
#include "fhir/json/reader.hpp"
#include "tests/sim/world.hpp"

namespace nightferry::sim {

namespace {

bool is_from_us(const StoredResource& resource) {
    return resource.history.front().writer == Writer::us;
}

}  // namespace

// After each change at a clinic: nothing is there twice, and no change of theirs was overwritten.
void World::check_site(Site& site) {
    const ModelClinic& server = site.server();
    std::size_t& seen = seen_[&site];
    for (const Event& event : server.events_since(seen)) {
        ++seen;
        if (event.writer != Writer::us || event.type.empty()) continue;
        const StoredResource* resource = server.store().find(event.type, event.id);
        if (resource != nullptr) check_sharing(site, event, *resource);
        if (event.type == "Provenance") continue;
        if (resource == nullptr || resource->newest().identifiers.empty()) continue;
        const Identifier& identity = resource->newest().identifiers.front();
        const auto bearing = server.store().bearing(event.type, identity.system, identity.value);
        if (std::count_if(bearing.begin(), bearing.end(), [](const auto* one) { return is_from_us(*one); }) >
                1 &&
            site.is_workable())
            violate("the clinic " + site.name() + " has two resources of one entry: " + identity.value);
        const auto edited = site.edited_texts().find(resource->place());
        const auto& history = resource->history;
        if (edited != site.edited_texts().end() && history.size() > 1 &&
            !history[history.size() - 2].deleted && *history[history.size() - 2].text == edited->second)
            violate("a change made at the clinic " + site.name() + " was overwritten: " + resource->place());
    }
}

// After each start: what was acknowledged is there.
void World::check_logbook() {
    for (const auto& [id, known] : diary_.entries()) {
        if (known.acknowledged == 0) continue;
        const auto record = hub_->logbook().find(id);
        if (!record) return;  // The disk fails again; the next start looks.
        const bool has_all =
            *record && static_cast<std::int64_t>((*record)->revisions.size()) >= known.acknowledged;
        if (!has_all) return violate("an acknowledged entry is lost: " + id.to_string());
    }
}

// While no pass runs, nothing is under way.
void World::check_rest() {
    if (!hub_ || must_end_ || disk_.is_dead() || hub_->is_at_work()) return;
    for (const auto& site : sites_) {
        const auto under_way = hub_->outbox().in_state(site->name(), logbook::DeliveryState::under_way, 1);
        if (under_way && !under_way->empty())
            violate("nobody knows any more of an entry that was under way: " +
                    under_way->front().id.to_string() + " at " + site->name());
    }
}

void World::check_end() {
    if (!hub_) return violate("the hub is not up although nothing is wrong any more");
    for (const auto& [id, known] : diary_.entries()) {
        const auto record = hub_->logbook().find(id);
        if (!record || !*record) return violate("an entry cannot be found in the end: " + id.to_string());
        if (((*record)->current.submission.action == entry::Action::retract) != known.retracted)
            return violate("the last word about an entry is not the one in effect: " + id.to_string());
        for (const auto& site : sites_) {
            check_entry_at(*site, id);
            if (!report_.violation.empty()) return;
        }
    }
    std::uint64_t revisions = 0;
    for (const auto& [id, known] : diary_.entries())
        revisions += known.said.size();
    for (const auto& site : sites_) {
        constexpr std::uint64_t requests_at_most = 400;
        // Each start looks at what it finds, and whatever gets through lets the others be tried at once.
        if (site->most_requests_in_an_hour() > requests_at_most + 12 * revisions + 5 * report_.boots)
            violate("a storm of requests: " + std::to_string(site->most_requests_in_an_hour()) +
                    " in an hour");
        constexpr std::uint64_t in_vain_at_most = 60;
        if (site->most_in_vain_in_an_hour() > in_vain_at_most)
            violate("a clinic that was away was asked " + std::to_string(site->most_in_vain_in_an_hour()) +
                    " times in an hour");
        for (const StoredResource& one : site->server().store().resources()) {
            if (one.type == "Provenance" || !is_from_us(one) || one.newest().identifiers.empty()) continue;
            const auto id = EntryId::parse(one.newest().identifiers.front().value.substr(9));
            if (!id || !diary_.entries().contains(*id))
                return violate("nobody wrote what the clinic holds: " + one.place());
        }
    }
}

// What comes late was sent at most this long before.
constexpr Span late_at_most = std::chrono::minutes{10};

// After each write of ours: the clinic may have it.
void World::check_sharing(const Site& site, const Event& event, const StoredResource& resource) {
    const Wishes& wishes = wishes_.at(site.name());
    const Span since = agenda_.now() - late_at_most;
    const std::string& text = resource.text();
    const bool has_notes =
        text.find(note_text) != std::string::npos || text.find(reason_text) != std::string::npos;
    if (has_notes && !wishes.allowed_notes(since))
        violate("the clinic " + site.name() + " got a note that it is not to have: " + resource.place());
    if (resource.newest().identifiers.empty() || event.type == "Provenance") return;
    const auto id = EntryId::parse(resource.newest().identifiers.front().value.substr(9));
    const auto known = id ? diary_.entries().find(*id) : diary_.entries().end();
    if (known == diary_.entries().end()) return;
    if (wishes.allowed(known->second.said.front().entry->kind(), since)) return;
    const bool takes_back = resource.history.size() > 1 && text.find("entered-in-error") != std::string::npos;
    if (!takes_back)
        violate("the clinic " + site.name() + " got an entry that it is not to have: " + id->to_string());
}

void World::check_retraction(const Site& site, const EntryId& id, const std::string& what) {
    for (const StoredResource& one : site.server().store().resources()) {
        if (one.is_deleted() || !one.bears(entry_system, id.urn())) continue;
        if (one.text().find("entered-in-error") == std::string::npos)
            violate("the clinic holds what was taken back" + what);
    }
}

bool World::may_be_kept(const Site& site, const Diary::Known& known) const {
    if (is_back_dated_) return known.retracted;
    return !wishes_.at(site.name()).always_allowed(known.said.front().entry->kind(), known.since);
}

// What the next revision is sent to.
void World::check_receipt(Site& site, const logbook::Receipt& receipt, const StoredResource& there) {
    if (site.named_other_places() || site.was_restored()) return;
    if (receipt.resource_type + "/" + receipt.resource_id != there.place())
        violate("the receipt for " + there.place() + " names " + receipt.resource_type + "/" +
                receipt.resource_id);
}

void World::check_entry_at(Site& site, const EntryId& id) {
    const Diary::Known& known = diary_.entries().at(id);
    const logbook::EntryRecord record = *hub_->logbook().find(id).value();
    const auto delivery =
        std::find_if(record.deliveries.begin(), record.deliveries.end(),
                     [&](const logbook::Delivery& one) { return one.clinic == site.name(); });
    const std::string what = " (" + id.to_string() + " at " + site.name() + ")";
    if (delivery == record.deliveries.end()) {
        if (!may_be_kept(site, known)) violate("an entry has no way to a clinic" + what);
        return;
    }
    const std::string says =
        ": " + std::string(word_for(delivery->state)) + ", '" + delivery->words + "'" + what;
    const bool touched = site.touched_by_people().contains(id.urn());
    const bool may_stay = known.refused || known.breaking || touched || !site.is_workable();
    if (delivery->state == logbook::DeliveryState::waiting && !known.breaking && site.is_workable())
        return violate("an entry still waits although nothing is wrong any more" + says);
    if (delivery->state == logbook::DeliveryState::under_way && !hub_->is_at_work())
        return violate("nobody knows any more of an entry that was under way" + says);
    if (delivery->state == logbook::DeliveryState::set_aside) {
        if (delivery->words.empty()) return violate("an entry was set aside without a word" + what);
        if (!may_stay) return violate("an entry was set aside for no reason" + says);
    }
    if (delivery->state == logbook::DeliveryState::withdrawn) {
        if (!may_be_kept(site, known)) return violate("an entry was withdrawn for no reason" + says);
        if (known.retracted && !may_stay) check_retraction(site, id, says);
    }
    if (delivery->state != logbook::DeliveryState::confirmed || touched || !site.is_workable()) return;
    const auto type = mapping::Mapper::resource_type(record.current.content);
    const auto there = site.server().store().bearing(type, entry_system, id.urn());
    if (there.size() != 1)
        return violate("the clinic holds " + std::to_string(there.size()) +
                       " resources of a confirmed entry" + says);
    check_receipt(site, delivery->receipts.back(), *there[0]);
    mapping::Identities identities = identities_at(mix_.patient_by_identifier);
    identities.patients["juniper"] = site.patient();
    const auto theirs = fhir::json::read(there[0]->text());
    const mapping::Mapper mapper(family_household(), identities);
    const auto reads_as = [&](const entry::Version& version) {
        fhir::json::Document ours;
        (void)mapper.put_resource(ours.root(), version, {{}, "urn:uuid:any"});
        return fhir::exchange::same_content(ours.root(), theirs->root());
    };
    const Wishes& wishes = wishes_.at(site.name());
    if (wishes.ever_had_notes() && reads_as(record.current)) return;
    if (wishes.ever_left_notes_out() && reads_as(entry::without_free_texts(record.current))) return;
    violate("the clinic holds another revision than the one in effect" + says);
}

}  // namespace nightferry::sim
