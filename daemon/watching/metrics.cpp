#include "daemon/watching/metrics.hpp"

#include <algorithm>
#include <array>
#include <cassert>

#include "daemon/core/log_events.hpp"

namespace nightferry::watching {

namespace {

using Type = MetricFamily::Type;

const std::array kinds{
    MetricFamily{"nightferry_build", Type::info, "", "Which version runs.", {}},
    MetricFamily{"nightferry_start_timestamp_seconds", Type::gauge, "seconds", "When the hub started.", {}},
    MetricFamily{"nightferry_ready", Type::gauge, "", "Whether entries can be taken in.", {}},
    MetricFamily{
        "nightferry_settings_refused",
        Type::gauge,
        "",
        "Whether the settings that were read last are not in force, because they do not serve or need a "
        "restart.",
        {}},
    MetricFamily{"nightferry_disk_full",
                 Type::gauge,
                 "",
                 "Whether something waits for room on the disk of the data folder.",
                 {}},
    MetricFamily{"nightferry_handed_in_entries",
                 Type::counter,
                 "entries",
                 "Entries handed in since the start, by the way in and the answer.",
                 {}},
    MetricFamily{"nightferry_unreadable_hand_ins",
                 Type::counter,
                 "",
                 "Files and requests since the start of which nothing could be read, by the way in.",
                 {}},
    MetricFamily{"nightferry_log_events",
                 Type::counter,
                 "",
                 "Events of the log since the start, those whose lines were left out included.",
                 {}},
    MetricFamily{"nightferry_data_free_bytes",
                 Type::gauge,
                 "bytes",
                 "Room on the disk of the data folder that the hub may use.",
                 {}},
    MetricFamily{"nightferry_logbook_bytes",
                 Type::gauge,
                 "bytes",
                 "Size of the logbook's file and of the log of changes beside it.",
                 {}},
    MetricFamily{"nightferry_deliveries",
                 Type::gauge,
                 "",
                 "Entries on their way to a clinic by what became of them; waiting includes those under way.",
                 {}},
    MetricFamily{"nightferry_oldest_waiting_age_seconds",
                 Type::gauge,
                 "seconds",
                 "For how long the clinic has been owed what waits longest; 0 when nothing waits.",
                 {}},
    MetricFamily{"nightferry_passes",
                 Type::counter,
                 "",
                 "Passes since the start; stopped are those that could not go on before something is put "
                 "right, here or at the clinic, out_of_time those whose window closed before all was sent.",
                 {}},
    MetricFamily{"nightferry_pass_running", Type::gauge, "", "Whether a pass is under way.", {}},
    MetricFamily{"nightferry_last_pass_start_timestamp_seconds",
                 Type::gauge,
                 "seconds",
                 "When the newest pass began.",
                 {}},
    MetricFamily{"nightferry_last_pass_end_timestamp_seconds",
                 Type::gauge,
                 "seconds",
                 "When the newest pass ended that has ended.",
                 {}},
    MetricFamily{
        "nightferry_last_pass_duration_seconds",
        Type::gauge,
        "seconds",
        "How long the newest pass took that has ended, its waits included; not there while one runs.",
        {}},
    MetricFamily{"nightferry_last_pass_stopped",
                 Type::gauge,
                 "",
                 "Whether the newest pass that ended could not go on before something is put right.",
                 {}},
    MetricFamily{
        "nightferry_persons_left_out",
        Type::gauge,
        "",
        "For how many persons nothing is sent, because the clinic's server does not know the patient for "
        "certain; by the newest pass that looked.",
        {}},
    MetricFamily{"nightferry_failed_attempts",
                 Type::gauge,
                 "",
                 "Attempts in a row that the clinic did not answer well.",
                 {}},
    MetricFamily{
        "nightferry_clinic_requests",
        Type::counter,
        "",
        "Requests for the clinic's FHIR server by outcome since the start, those included that never "
        "left.",
        {}},
    MetricFamily{"nightferry_clinic_sent_bytes",
                 Type::counter,
                 "bytes",
                 "Bodies of requests to the clinic's FHIR server since the start.",
                 {}},
    MetricFamily{"nightferry_clinic_received_bytes",
                 Type::counter,
                 "bytes",
                 "Bodies of its answers since the start, unpacked.",
                 {}},
    MetricFamily{"nightferry_token_expiry_timestamp_seconds",
                 Type::gauge,
                 "seconds",
                 "When the token in use ends.",
                 {}},
    MetricFamily{
        "nightferry_certificate_expiry_timestamp_seconds",
        Type::gauge,
        "seconds",
        "When the hub's own certificate ends, and the first of those by which the clinic's server was "
        "trusted.",
        {}},
    MetricFamily{"nightferry_clock_skew_seconds",
                 Type::gauge,
                 "seconds",
                 "By how much the clinic's clock was ahead of this hub's.",
                 {}},
    MetricFamily{"nightferry_page_certificate_expiry_timestamp_seconds",
                 Type::gauge,
                 "seconds",
                 "When the certificate ends that phones at home see; not there while no page is served.",
                 {}},
};

// The metrics of one reading, filled sample by sample.
class Filling {
 public:
    Filling() : families_(kinds.begin(), kinds.end()) {}

    using Labels = std::vector<std::pair<std::string_view, std::string>>;
    void add(std::string_view name, Labels labels, std::string value) {
        const auto family =
            std::ranges::find(families_, "nightferry_" + std::string(name), &MetricFamily::name);
        assert(family != families_.end());
        family->samples.push_back({std::move(labels), std::move(value)});
    }
    void add(std::string_view name, Labels labels, std::int64_t value) {
        add(name, std::move(labels), std::to_string(value));
    }
    // Nothing for a time that is not known; the epoch stands for never.
    void add_time(std::string_view name, Labels labels, const std::optional<Instant>& at) {
        if (at && *at != Instant()) add(name, std::move(labels), in_seconds(at->time_since_epoch()));
    }
    std::vector<MetricFamily> take() { return std::move(families_); }

 private:
    std::vector<MetricFamily> families_;
};

void add_hub(Filling& all, const Reading& reading) {
    all.add("build", {{"version", reading.version}}, 1);
    all.add_time("start_timestamp_seconds", {}, reading.started);
    all.add("ready", {}, reading.is_ready ? 1 : 0);
    all.add("settings_refused", {}, reading.settings_refused ? 1 : 0);
    all.add("disk_full", {}, reading.is_disk_full ? 1 : 0);
    for (const auto& [way, answers] : reading.handed_in) {
        for (const auto& [answer, number] : answers)
            all.add("handed_in_entries", {{"way", way}, {"answer", answer}}, number);
    }
    for (const auto& [way, number] : reading.unreadable)
        all.add("unreadable_hand_ins", {{"way", way}}, number);
    for (const LogEventKind& kind : log_events()) {
        const auto index = static_cast<std::size_t>(kind.event);
        if (index < reading.events.size())
            all.add("log_events", {{"event", std::string(kind.name)}}, reading.events[index]);
    }
    if (reading.data_free_bytes) all.add("data_free_bytes", {}, std::to_string(*reading.data_free_bytes));
    if (reading.logbook_bytes) all.add("logbook_bytes", {}, std::to_string(*reading.logbook_bytes));
    all.add_time("page_certificate_expiry_timestamp_seconds", {}, reading.page_certificate_ends);
}

void add_queue(Filling& all, const ClinicReading& one, Instant now) {
    const auto deliveries = [&](logbook::DeliveryState state, std::int64_t number) {
        all.add("deliveries", {{"clinic", one.clinic}, {"state", std::string(logbook::word_for(state))}},
                number);
    };
    deliveries(logbook::DeliveryState::waiting, one.counts.waiting);
    deliveries(logbook::DeliveryState::confirmed, one.counts.confirmed);
    deliveries(logbook::DeliveryState::set_aside, one.counts.set_aside);
    deliveries(logbook::DeliveryState::closed, one.counts.closed);
    deliveries(logbook::DeliveryState::withdrawn, one.counts.withdrawn);
    // A clock that was set back makes it no younger than new.
    const auto age = now - one.counts.oldest_waiting.value_or(now);
    all.add("oldest_waiting_age_seconds", {{"clinic", one.clinic}},
            in_seconds(std::max(age, std::chrono::microseconds{0})));
}

void add_passes(Filling& all, const ClinicReading& one) {
    const Filling::Labels clinic{{"clinic", one.clinic}};
    for (const auto& [result, number] : one.counted.passes)
        all.add("passes", {{"clinic", one.clinic}, {"result", result}}, number);
    all.add("pass_running", clinic, one.is_running ? 1 : 0);
    all.add_time("last_pass_start_timestamp_seconds", clinic, one.state.pass_started);
    all.add_time("last_pass_end_timestamp_seconds", clinic, one.state.pass_ended);
    if (one.state.pass_ended != Instant() && one.state.pass_ended >= one.state.pass_started) {
        all.add("last_pass_duration_seconds", clinic,
                in_seconds(one.state.pass_ended - one.state.pass_started));
    }
    all.add("last_pass_stopped", clinic, one.last_pass_stopped ? 1 : 0);
    all.add("persons_left_out", clinic, static_cast<std::int64_t>(one.persons_left_out));
    all.add("failed_attempts", clinic, one.state.failures);
}

void add_door(Filling& all, const ClinicReading& one) {
    const Filling::Labels clinic{{"clinic", one.clinic}};
    for (const auto& [outcome, number] : one.counted.requests)
        all.add("clinic_requests", {{"clinic", one.clinic}, {"outcome", outcome}}, number);
    all.add("clinic_sent_bytes", clinic, one.counted.sent_bytes);
    all.add("clinic_received_bytes", clinic, one.counted.received_bytes);
    all.add_time("token_expiry_timestamp_seconds", clinic, one.token_ends);
    all.add_time("certificate_expiry_timestamp_seconds", {{"clinic", one.clinic}, {"whose", "hub"}},
                 one.hub_certificate_ends);
    all.add_time("certificate_expiry_timestamp_seconds", {{"clinic", one.clinic}, {"whose", "clinic"}},
                 one.clinic_certificate_ends);
    all.add("clock_skew_seconds", clinic, in_seconds(one.state.skew));
}

}  // namespace

std::span<const MetricFamily> metric_kinds() {
    return kinds;
}

std::vector<MetricFamily> metrics_of(const Reading& reading) {
    Filling all;
    add_hub(all, reading);
    for (const ClinicReading& one : reading.clinics) {
        add_queue(all, one, reading.now);
        add_passes(all, one);
        add_door(all, one);
    }
    return all.take();
}

}  // namespace nightferry::watching
