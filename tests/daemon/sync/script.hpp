// Plays the world to a SyncMachine, one event at a time: what it wants is asked for by name, and wanting
// anything else fails the test.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "daemon/sync/machine.hpp"
#include "tests/daemon/sync/clinic.hpp"

namespace nightferry::test {

// Draws the largest number every time, so that every wait is as long as it may be.
class LargestDraw final : public Random {
 public:
    std::uint64_t below(std::uint64_t bound) override { return bound == 0 ? 0 : bound - 1; }
};

inline logbook::Parcel parcel(const entry::Submission& submission) {
    logbook::Parcel made;
    made.id = submission.id;
    made.wanted = {1, submission, submission.entry.value(), test_now()};
    made.attempts = 1;
    return made;
}

// The second revision on its way, after the clinic gave the first one this version (empty: no receipt).
inline logbook::Parcel parcel(const entry::Submission& first, const entry::Submission& second,
                              const std::string& resource_id = {}, const std::string& version = {}) {
    logbook::Parcel made = parcel(first);
    made.earlier = {made.wanted};
    made.wanted = {2, second, second.entry ? *second.entry : *first.entry, test_now()};
    const std::string type(mapping::Mapper::resource_type(made.wanted.content));
    if (!resource_id.empty()) made.receipt = logbook::Receipt{1, type, resource_id, version, 201, test_now()};
    return made;
}

// "confirmed Observation/n1/_history/2", "again, outcome unknown", "set aside: why".
inline std::string told(const logbook::Settlement& settlement) {
    using Fate = logbook::Settlement::Fate;
    if (settlement.fate == Fate::set_aside) return "set aside: " + settlement.words;
    if (settlement.fate == Fate::withdrawn) return "withdrawn";
    if (settlement.fate == Fate::again) {
        return std::string("again") + (settlement.outcome_unknown ? ", outcome unknown" : "") +
               (settlement.to_the_back ? ", to the back" : "");
    }
    const logbook::Receipt& receipt = settlement.receipt.value();
    return "confirmed " + receipt.resource_type + "/" + receipt.resource_id + "/_history/" +
           receipt.version_id;
}

inline std::vector<std::string> told(const sync::Settle& settle) {
    std::vector<std::string> all;
    for (const logbook::Settlement& one : settle.settlements)
        all.push_back(told(one));
    return all;
}

inline std::vector<logbook::Parcel> weights(int count) {
    std::vector<logbook::Parcel> parcels;
    for (int i = 0; i < count; ++i)
        parcels.push_back(parcel(a_weight("w" + std::to_string(i))));
    return parcels;
}

inline bool carries(const HttpRequest& request, const std::string& label) {
    return request.body.find(id_of(label).to_string()) != std::string::npos;
}

// One entry of a transaction that was sent.
struct SentEntry {
    std::string method;
    std::string url;
    std::string full_url;
    std::string if_none_exist;
    std::string if_match;
    std::string resource;
};

inline std::vector<SentEntry> entries_in(const HttpRequest& request) {
    const auto bundle = fhir::json::read(request.body);
    std::vector<SentEntry> entries;
    if (!bundle || bundle->root().string_at("type") != "transaction") return entries;
    for (const fhir::json::Value& entry : *bundle->root().find("entry")) {
        const fhir::json::Value& asked = *entry.find("request");
        entries.push_back(
            {std::string(asked.string_at("method")), std::string(asked.string_at("url")),
             std::string(entry.string_at("fullUrl")), std::string(asked.string_at("ifNoneExist")),
             std::string(asked.string_at("ifMatch")), fhir::json::write(*entry.find("resource"))});
    }
    return entries;
}

// What `path` ("subject/reference", "partOf/0/reference") holds in a resource; empty when nothing.
inline std::string text_at(const std::string& resource, std::string path) {
    const auto document = fhir::json::read(resource);
    const fhir::json::Value* at = &document->root();
    while (at != nullptr && !path.empty()) {
        const std::string step = path.substr(0, path.find('/'));
        path.erase(0, step.size() + 1);
        at = step == "0" ? (at->size() > 0 ? &at->front() : nullptr) : at->find(step);
    }
    return at == nullptr ? std::string() : std::string(at->text());
}

class Script {
 public:
    explicit Script(std::vector<sync::PatientToFind> patients = {}, const logbook::ClinicState& state = {},
                    const sync::Policy& policy = {})
        : machine_(policy, patients.empty() ? mapper() : mapper({}), patients, state, random_) {}

    Instant now = test_now();
    bool plays_preliminaries = true;
    HttpAnswer statement = Clinic().answer({"GET", "/metadata", {}, {}});
    const sync::Manner& manner() const { return machine_.manner(); }

    void request_pass(bool by_a_person = false, std::optional<Instant> until = {}) {
        feed(sync::PassRequested{by_a_person, until});
    }
    std::size_t takes() { return wanted<sync::Take>("take").order.limit; }
    sync::Take take() { return wanted<sync::Take>("take"); }
    std::vector<std::string> leaves_out() { return wanted<sync::Take>("take").order.without; }
    sync::Recall recall() { return wanted<sync::Recall>("recall"); }
    void give_back(std::vector<logbook::Parcel> parcels) { feed(sync::Recalled{std::move(parcels)}); }
    void give(std::vector<logbook::Parcel> parcels) { feed(sync::Taken{std::move(parcels)}); }
    HttpRequest sends() { return wanted<sync::Send>("send").request; }
    void answer(HttpAnswer answer) { feed(sync::Replied{std::move(answer)}); }
    void no_answer(sync::NoAnswer::Reached reached, const std::string& words = "the line is dead") {
        feed(sync::Replied{sync::NoAnswer{reached, words}});
    }
    sync::Settle settles() {
        const sync::Settle settle = wanted<sync::Settle>("settle");
        feed(sync::Settled{});
        return settle;
    }
    std::chrono::microseconds waits() { return wanted<sync::Wait>("wait").span; }
    const sync::SyncMachine& machine() const { return machine_; }
    // Sleeps through the wait.
    void ring() {
        now += waits();
        feed(sync::Rang{});
    }
    template <class T>
    bool wants() const {
        return std::holds_alternative<T>(action_);
    }
    bool rests() const { return std::holds_alternative<sync::Rest>(action_) && machine_.is_resting(); }

    // From the start of a pass to its first request.
    HttpRequest send_first(std::vector<logbook::Parcel> parcels) {
        request_pass();
        takes();
        give(std::move(parcels));
        return sends();
    }

    // Plays on until the machine rests or waits; requests go to `world`, and there is nothing more to take.
    using World = std::function<sync::Reply(const HttpRequest&)>;
    void play(const World& world) {
        for (int steps = 0; steps < 1000; ++steps) {
            if (std::holds_alternative<sync::Take>(action_)) {
                limits.push_back(takes());
                give({});
            } else if (std::holds_alternative<sync::Send>(action_)) {
                requests.push_back(sends());
                feed(sync::Replied{world(requests.back())});
            } else if (std::holds_alternative<sync::Settle>(action_)) {
                const sync::Settle settle = settles();
                last_state = settle.state;
                for (const logbook::Settlement& one : settle.settlements) {
                    settled_words[one.id] = one.words;
                    EXPECT_TRUE(fates.emplace(one.id, told(one)).second) << "settled twice";
                }
            } else {
                return;
            }
        }
        ADD_FAILURE() << "the machine never rests";
    }
    void play(Clinic& clinic) {
        play([&](const HttpRequest& request) { return clinic.answer(request); });
    }

    // What play() saw.
    std::vector<HttpRequest> requests;
    std::vector<std::size_t> limits;
    std::map<EntryId, std::string> fates;
    std::map<EntryId, std::string> settled_words;
    logbook::ClinicState last_state;

 private:
    template <class T>
    T wanted(const char* name) {
        if (const T* action = std::get_if<T>(&action_)) return *action;
        ADD_FAILURE() << "expected it to " << name << "; it wants action " << action_.index();
        throw std::logic_error("the script cannot go on");
    }
    void feed(sync::Event event) {
        action_ = machine_.on(std::move(event), now);
        answer_preliminaries();
    }
    // What comes before every pass, unless a test wants to play it itself.
    void answer_preliminaries() {
        while (plays_preliminaries) {
            const auto* send = std::get_if<sync::Send>(&action_);
            if (send != nullptr && send->request.target == "/metadata") {
                action_ = machine_.on(sync::Replied{statement}, now);
            } else if (std::holds_alternative<sync::Recall>(action_)) {
                action_ = machine_.on(sync::Recalled{}, now);
            } else {
                return;
            }
        }
    }

    LargestDraw random_;
    sync::SyncMachine machine_;
    sync::Action action_ = sync::Rest{};
};

}  // namespace nightferry::test
