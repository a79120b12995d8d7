// The part of Site that is about the people at the clinic.
#include "tests/sim/diary.hpp"
#include "tests/sim/hub.hpp"
#include "tests/sim/site.hpp"

namespace nightferry::sim {

namespace {

std::string patient_text(const std::string& id, bool has_number, const std::string& replaced_by) {
    std::string text = R"({"resourceType":"Patient")";
    if (!id.empty()) text += R"(,"id":")" + id + '"';
    if (has_number) {
        text += std::string(R"(,"identifier":[{"system":")") + patient_system + R"(","value":")" +
                patient_number + R"("}])";
    }
    if (!replaced_by.empty()) {
        text += R"(,"link":[{"other":{"reference":"Patient/)" + replaced_by + R"("},"type":"replaced-by"}])";
    }
    return text + '}';
}

}  // namespace

const StoredResource* Site::any_of_ours() {
    std::vector<const StoredResource*> ours;
    for (const StoredResource& one : server_.store().resources()) {
        if (one.type != "Provenance" && !one.is_deleted() && !one.newest().identifiers.empty() &&
            one.newest().identifiers.front().system == entry_system)
            ours.push_back(&one);
    }
    return ours.empty() ? nullptr : ours[dice_.below(ours.size())];
}

const StoredResource* Site::looked_at(const HttpRequest& request) const {
    const std::string target = percent_decode(request.target);
    const auto identity = target.find("urn:uuid:");
    const std::string type = target.substr(1, target.find_first_of("/?", 1) - 1);
    if (identity != std::string::npos) {
        const auto found = server_.store().bearing(type, entry_system, target.substr(identity, 45));
        return found.empty() ? nullptr : found.front();
    }
    const auto slash = target.find('/', 1);
    const auto* one =
        slash == std::string::npos ? nullptr : server_.store().find(type, target.substr(slash + 1));
    return one == nullptr || one->is_deleted() || one->newest().identifiers.empty() ? nullptr : one;
}

void Site::edit(const StoredResource& one) {
    const std::string identity = one.newest().identifiers.front().value;
    const std::string place = one.place();
    if (tell_) tell_(name_ + "  somebody edits " + identity);
    server_.edit(std::string(one.type), std::string(one.id), "seen by the nurse");
    edited_[place] = one.text();
    touched_.insert(identity);
}

void Site::take_up_patient(const std::string& id) {
    patient_ = server_.enter(patient_text(id, true, {}));
}

// The number goes to another record, and this one says so; later somebody sees that it was a mistake.
void Site::move_patient() {
    const StoredResource* there = server_.store().find("Patient", patient_);
    if (there->newest().identifiers.empty()) return put_patient_right();
    if (tell_) tell_(name_ + "  somebody replaces the patient's record");
    server_.enter(patient_text("moved", true, {}));
    server_.enter(patient_text(patient_, false, "moved"));
}

void Site::put_patient_right() {
    const StoredResource* there = server_.store().find("Patient", patient_);
    if (!there->newest().identifiers.empty()) return;
    server_.enter(patient_text("moved", false, patient_));
    server_.enter(patient_text(patient_, true, {}));
}

void Site::people_act(bool hub_is_at_work) {
    const Mix::People& people = mix_.people;
    // In mid-pass nobody could tell.
    if (any_of_ours() != nullptr && !hub_is_at_work && dice_.happens(people.moves)) return move_patient();
    // Between a look and a write only a version can tell, where the server checks it.
    const bool may_edit = server_.dialect().does.checks_versions || !hub_is_at_work;
    const StoredResource* one = any_of_ours();
    if (one == nullptr || !may_edit) return;
    const std::string type = one->type;
    const std::string id = one->id;
    const std::string identity = one->newest().identifiers.front().value;
    if (dice_.happens(people.edits)) {
        edit(*one);
    } else if (dice_.happens(people.touches)) {
        server_.touch(type, id);
    } else if (dice_.happens(people.deletions)) {
        if (tell_) tell_(name_ + "  somebody deletes " + identity);
        server_.remove(type, id);
        touched_.insert(identity);
    } else if (dice_.happens(people.copies)) {
        if (tell_) tell_(name_ + "  somebody copies " + identity);
        server_.duplicate(type, id);
        touched_.insert(identity);
    }
}

}  // namespace nightferry::sim
