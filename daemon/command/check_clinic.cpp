// `nightferry check-clinic`.
#include <cstdio>

#include "daemon/command/commands.hpp"
#include "daemon/core/words.hpp"
#include "daemon/door/try_door.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/report/table.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace {

using Steps = std::vector<door::Step>;

void print_as_text(const config::Clinic& clinic, const Steps& steps) {
    std::printf("%s, %s\n", clinic.name.c_str(), clinic.base.to_string().c_str());
    report::Table table;
    for (const door::Step& step : steps)
        table.row({"  " + std::string(word_for(step.result)), step.name, step.words});
    std::fputs(table.text().c_str(), stdout);
}

void put(fhir::json::Value& into, const config::Clinic& clinic, const Steps& steps) {
    into.add_string("clinic", clinic.name);
    fhir::json::Value& list = into.add_array("steps");
    for (const door::Step& step : steps) {
        fhir::json::Value& one = list.push_object();
        one.add_string("result", word_for(step.result));
        one.add_string("step", step.name);
        one.add_string("words", step.words);
    }
}

}  // namespace

int Commands::check_clinic() {
    std::vector<const config::Clinic*> meant;
    for (const config::Clinic& clinic : settings_->clinics) {
        if (options_.clinic.empty() || clinic.name == options_.clinic) meant.push_back(&clinic);
    }
    if (meant.empty()) {
        return complain(ExitCode::usage, options_.clinic.empty()
                                             ? "the settings name no clinic"
                                             : "no [[clinic]] has the name " + in_quotes(options_.clinic));
    }
    net::SystemClock clock;
    net::SystemRandom random;
    fhir::json::Document document;
    fhir::json::Value& clinics = document.root().add_array("clinics");
    bool all_good = true;
    for (const config::Clinic* clinic : meant) {
        const Steps steps = door::try_door(*settings_, *clinic, options_.send_test_record, clock, random);
        all_good = all_good && door::is_good(steps);
        put(clinics.push_object(), *clinic, steps);
        if (!options_.as_json) print_as_text(*clinic, steps);
    }
    if (options_.as_json) std::printf("%s\n", fhir::json::write(document.root()).c_str());
    return as_status(all_good ? ExitCode::ok : ExitCode::unavailable);
}

}  // namespace nightferry::command
