// Requests in a few words, and a clinic of a given dialect that answers a script.
#pragma once

#include <string>
#include <vector>

#include "tests/daemon/sync/script.hpp"
#include "tests/sim/model_clinic.hpp"

namespace nightferry::test {

// "transaction of 2", "search Observation", "read Observation/n1", "create Observation, on condition",
// "update Provenance", "update Observation/n1 of version 3".
inline std::string asked(const HttpRequest& request) {
    if (request.target.empty()) {
        const auto bundle = fhir::json::read(request.body);
        if (!bundle) return "nothing readable";
        const fhir::json::Value* entries = bundle->root().find("entry");
        return std::string(bundle->root().string_at("type")) + " of " +
               std::to_string(entries == nullptr ? 0 : entries->size());
    }
    const std::string what = request.target.substr(1);
    if (request.method == "GET") {
        const auto query = what.find('?');
        return query == std::string::npos ? "read " + what : "search " + what.substr(0, query);
    }
    std::string words = request.method == "POST" ? "create " : "update ";
    words += what.starts_with("Provenance/") ? "Provenance" : what;
    if (!header(request.headers, "If-None-Exist").empty()) words += ", on condition";
    const std::string version(header(request.headers, "If-Match"));
    if (!version.empty()) words += " of version " + version.substr(3, version.size() - 4);
    return words;
}

inline std::vector<std::string> asked(const std::vector<HttpRequest>& requests) {
    std::vector<std::string> all;
    for (const HttpRequest& one : requests)
        all.push_back(asked(one));
    return all;
}

// A script that knows what the server of this dialect says of itself.
class DialectScript : public Script {
 public:
    explicit DialectScript(const sim::Dialect& dialect, const sync::Policy& policy = {})
        : Script({}, {}, policy), clinic(dialect) {
        statement = clinic.answer({"GET", "/metadata", {}, {}});
    }

    // Plays a pass in which these are all there is; what it asked.
    std::vector<std::string> send(std::vector<logbook::Parcel> parcels) {
        requests.clear();
        request_pass();
        takes();
        give(std::move(parcels));
        play_on();
        return asked(requests);
    }
    void play_on() {
        play([this](const HttpRequest& request) { return clinic.answer(request); });
    }
    std::string fate(const std::string& label) { return fates[id_of(label)]; }
    std::string words_of(const std::string& label) { return settled_words[id_of(label)]; }

    sim::ModelClinic clinic;
};

}  // namespace nightferry::test
