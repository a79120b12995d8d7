// What people at a model clinic do to its records, and its backups.
#include "fhir/json/reader.hpp"
#include "tests/sim/model_clinic.hpp"
#include "tests/sim/model_text.hpp"

namespace nightferry::sim {

namespace json = fhir::json;

namespace {

// A copy with one note more.
json::Document with_note(const json::Value& resource, std::string_view words) {
    json::Document document;
    json::Value& root = document.root();
    for (const json::Value& member : resource) {
        if (member.name() != "note") root.add_copy(member.name(), member);
    }
    json::Value& notes = root.add_array("note");
    for (const json::Value& note : resource.items_at("note"))
        notes.push_copy(note);
    notes.push_object().add_string("text", words);
    return document;
}

}  // namespace

std::string ModelClinic::enter(std::string_view resource) {
    const auto document = json::read(resource);
    if (!document) return {};
    const json::Value& root = document->root();
    const std::string_view type = root.string_at("resourceType");
    std::string id(root.string_at("id"));
    if (id.empty()) id = new_id(type);
    write(root, type, id, Writer::clinic);
    return id;
}

bool ModelClinic::edit(std::string_view type, std::string_view id, std::string_view words) {
    const StoredResource* there = store_.find(type, id);
    if (there == nullptr || there->is_deleted()) return false;
    const auto document = json::read(there->text());
    write(with_note(document->root(), words).root(), type, id, Writer::clinic);
    return true;
}

bool ModelClinic::touch(std::string_view type, std::string_view id) {
    const StoredResource* there = store_.find(type, id);
    if (there == nullptr || there->is_deleted()) return false;
    const auto document = json::read(there->text());
    write(document->root(), type, id, Writer::clinic);
    return true;
}

bool ModelClinic::remove(std::string_view type, std::string_view id) {
    const StoredResource* there = store_.find(type, id);
    if (there == nullptr || there->is_deleted()) return false;
    StoredVersion gone = there->newest();
    gone.version = next_version(there);
    gone.writer = Writer::clinic;
    gone.deleted = true;
    events_.push_back({Event::What::deleted, Writer::clinic, there->type, there->id, gone.version});
    store_.add(type, id, std::move(gone));
    return true;
}

std::string ModelClinic::duplicate(std::string_view type, std::string_view id) {
    const StoredResource* there = store_.find(type, id);
    if (there == nullptr || there->is_deleted()) return {};
    const auto document = json::read(there->text());
    std::string second = new_id(type);
    write(document->root(), type, second, Writer::clinic);
    return second;
}

void ModelClinic::refuse(std::function<bool(const json::Value&)> what, std::string rule) {
    refuses_ = std::move(what);
    rule_ = std::move(rule);
}

void ModelClinic::break_on(std::function<bool(const json::Value&)> what) {
    breaks_on_ = std::move(what);
}

ModelClinic::Snapshot ModelClinic::snapshot() const {
    Snapshot taken;
    taken.store = store_;
    taken.next_id = next_id_;
    return taken;
}

void ModelClinic::restore(const Snapshot& snapshot) {
    store_ = snapshot.store;
    if (dialect_.does.reuses_ids) next_id_ = snapshot.next_id;
    pending_.clear();
    events_.push_back({Event::What::restored, Writer::clinic, {}, {}, {}});
}

}  // namespace nightferry::sim
