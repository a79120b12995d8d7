// The commands about what clinics have and get.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <optional>
#include <thread>

#include "daemon/command/commands.hpp"
#include "daemon/report/table.hpp"
#include "daemon/report/tables.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

int Commands::waiting() {
    return get("/v1/deliveries?state=waiting" + clinic_query('&'),
               [](const json::Value& answer) { return report::deliveries_text(answer, false); });
}

int Commands::set_aside() {
    return get("/v1/deliveries?state=set_aside" + clinic_query('&'),
               [](const json::Value& answer) { return report::deliveries_text(answer, true); });
}

int Commands::release() {
    std::string target = "/v1/deliveries/release" + clinic_query('?');
    if (!options_.id.empty())
        target += (options_.clinic.empty() ? "?entry=" : "&entry=") + percent_encode(options_.id);
    return post(target, [](const json::Value& answer) {
        return "released " + std::string(answer.find("released")->text()) +
               "; it goes out with the next pass\n";
    });
}

int Commands::settle() {
    json::Document closer;
    closer.root().add_string("by", options_.by);
    closer.root().add_string("reason", options_.reason);
    const auto answer =
        channel_.post("/v1/deliveries/settle" + clinic_query('?') + "&entry=" + percent_encode(options_.id),
                      json::write(closer.root()), "application/json");
    if (!answer) return not_there(answer.error());
    const auto closed = [](const json::Value& settled) {
        return "closed " + std::string(settled.string_at("settled")) +
               "; nothing is sent, unless the entry is amended or retracted later\n";
    };
    return finish(*answer, closed, ExitCode::bad_input);
}

int Commands::pass() {
    const bool waits = options_.wait_seconds > 0;
    const int started = post("/v1/passes" + clinic_query('?'), [waits](const json::Value& answer) {
        std::string text;
        for (const json::Value& clinic : *answer.find("started")) {
            text += "pass to " + std::string(clinic.text()) + " started\n";
        }
        return waits ? text : text + "See how it goes: nightferry queue\n";
    });
    return started != 0 || !waits ? started : wait_for_pass();
}

int Commands::wait_for_pass() {
    const auto patience = std::chrono::seconds(options_.wait_seconds);
    constexpr auto step = std::chrono::milliseconds(100);
    std::optional<Progress> progress(std::in_place, clock_, screen_of_this_process());
    for (std::chrono::milliseconds waited{0}; waited < patience; waited += step) {
        const auto answer = channel_.get("/v1/queue");
        if (!answer) return not_there(answer.error());
        const auto document = json::read(answer->body);
        if (document && !any_running(document->root())) {
            progress.reset();
            print(*answer, report::queue_text);
            return as_status(waiting_in(document->root()) > 0 ? ExitCode::unavailable : ExitCode::ok);
        }
        if (document)
            progress->tell("sending; " + std::to_string(waiting_in(document->root())) + " still to go");
        std::this_thread::sleep_for(step);
    }
    progress.reset();
    const int shown = queue();
    std::fprintf(stderr, "nightferry: the pass has not ended yet; it goes on by itself\n");
    return shown != 0 ? shown : as_status(ExitCode::locked);
}

bool Commands::is_meant(const json::Value& clinic) const {
    return options_.clinic.empty() || clinic.string_at("clinic") == options_.clinic;
}

bool Commands::any_running(const json::Value& queue) const {
    const json::Value& clinics = *queue.find("clinics");
    return std::any_of(clinics.begin(), clinics.end(), [&](const json::Value& clinic) {
        return is_meant(clinic) && clinic.find("pass")->find("running")->boolean();
    });
}

long Commands::waiting_in(const json::Value& queue) const {
    long waiting = 0;
    for (const json::Value& clinic : queue.items_at("clinics")) {
        if (is_meant(clinic)) waiting += report::number_at(clinic, "waiting");
    }
    return waiting;
}

std::string Commands::clinic_query(char mark) const {
    return options_.clinic.empty() ? std::string() : mark + ("clinic=" + percent_encode(options_.clinic));
}

int Commands::queue() {
    return get("/v1/queue", report::queue_text);
}

}  // namespace nightferry::command
