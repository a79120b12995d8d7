#include "daemon/service/hub_watch.hpp"

#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "daemon/intake/inbox.hpp"
#include "daemon/logbook/opening.hpp"
#include "daemon/watching/readiness.hpp"

namespace nightferry::service {

namespace {

std::string trouble_with(const std::filesystem::path& folder) {
    return ::access(folder.c_str(), R_OK | W_OK | X_OK) == 0 ? "" : std::strerror(errno);
}

std::optional<std::uint64_t> free_bytes_of(const std::filesystem::path& folder) {
    std::error_code failure;
    const auto room = std::filesystem::space(folder, failure);
    return failure ? std::nullopt : std::optional<std::uint64_t>(room.available);
}

std::optional<std::uint64_t> size_of(const std::filesystem::path& file) {
    std::error_code failure;
    const auto size = std::filesystem::file_size(file, failure);
    return failure ? std::nullopt : std::optional<std::uint64_t>(size);
}

// Each answer is there from the start, so that the first of a kind is seen as one more.
watching::Counts counts_of(const intake::Desk& desk) {
    using Kind = intake::Answer::Kind;
    watching::Counts counts;
    for (const char* way : {"inbox", "local", "page"}) {
        counts.unreadable[way] = 0;
        for (const Kind kind : {Kind::accepted, Kind::already_there, Kind::conflict, Kind::refused})
            counts.handed_in[way][std::string(intake::word_for(kind))] = 0;
    }
    watching::Counts counted;
    counted.handed_in = desk.tallies();
    for (auto& [way, answers] : counted.handed_in) {
        const auto unreadable = answers.extract("unreadable");
        if (!unreadable.empty()) counted.unreadable[way] = unreadable.mapped();
    }
    counts.add(counted);
    return counts;
}

std::string word_for(sync::PassResult result) {
    switch (result) {
        case sync::PassResult::all_sent:
            return "ended";
        case sync::PassResult::stopped:
            return "stopped";
        case sync::PassResult::out_of_time:
            return "out_of_time";
    }
    return {};
}

watching::ClinicCounts counts_of(ClinicLink& link) {
    const door::Traffic& traffic = link.door().traffic();
    watching::ClinicCounts counts{{}, traffic.requests, traffic.sent_bytes, traffic.received_bytes};
    for (const auto& [result, number] : link.loop().passes())
        counts.passes[word_for(result)] = number;
    return counts;
}

}  // namespace

HubWatch::HubWatch(Parts parts) : parts_(std::move(parts)), api_(*this) {}

void HubWatch::listen(boost::asio::io_context& loop) {
    const auto& metrics = parts_.settings.metrics;
    if (!metrics || server_) return;
    net::ServerLimits limits;
    limits.connections = 8;
    limits.header_bytes = 8 * 1024;
    limits.body_bytes = 0;
    limits.idle = std::chrono::seconds{10};
    auto server = net::HttpServer::open_plain(
        loop, metrics->address, metrics->port, [this](const HttpRequest& request) { return answer(request); },
        limits);
    if (server) {
        server_ = std::move(*server);
        not_served_because_.clear();
        return parts_.log.event(LogEvent::metrics_served);
    }
    const std::string& why = server.error().detail;
    if (std::exchange(not_served_because_, why) != why)
        parts_.log.event(LogEvent::metrics_not_served, {{"reason", why}});
}

HttpAnswer HubWatch::answer(const HttpRequest& request) {
    HttpAnswer answer = api_.answer(request);
    if (api_.failed()) parts_.on_failure(*api_.failed());
    return answer;
}

watching::Counts HubWatch::counts() const {
    watching::Counts counts = counts_of(parts_.desk);
    for (const auto& link : parts_.links)
        counts.clinics.emplace(link->loop().clinic(), counts_of(*link));
    counts.add(parts_.daemon.before);
    return counts;
}

Result<watching::Reading> HubWatch::read() {
    const watching::Counts counts = this->counts();
    watching::Reading reading;
    reading.now = parts_.clock.now();
    reading.started = parts_.daemon.started;
    reading.settings_refused = parts_.daemon.settings_refused;
    reading.version = NIGHTFERRY_VERSION;
    reading.is_ready = watching::not_ready_because(condition()).empty();
    reading.is_disk_full = parts_.is_disk_full();
    reading.handed_in = counts.handed_in;
    reading.unreadable = counts.unreadable;
    reading.events = parts_.log.counts();
    reading.page_certificate_ends = parts_.page_certificate_ends();
    reading.data_free_bytes = free_bytes_of(parts_.settings.data);
    const std::filesystem::path logbook = logbook::file_in(parts_.settings.data);
    reading.logbook_bytes = size_of(logbook);
    if (reading.logbook_bytes) *reading.logbook_bytes += size_of(logbook.string() + "-wal").value_or(0);
    for (const auto& link : parts_.links) {
        auto one = read(*link, counts);
        if (!one) return one.error();
        reading.clinics.push_back(std::move(*one));
    }
    return reading;
}

Result<watching::ClinicReading> HubWatch::read(ClinicLink& link,
                                               const watching::Counts& since_the_start) const {
    const std::string& clinic = link.loop().clinic();
    const auto counts = parts_.outbox.counts(clinic);
    if (!counts) return counts.error();
    watching::ClinicReading reading;
    reading.clinic = clinic;
    reading.counts = *counts;
    reading.state = link.loop().state();
    reading.is_running = link.loop().is_running();
    reading.last_pass_stopped = link.loop().result() == sync::PassResult::stopped;
    reading.persons_left_out = link.loop().persons_left_out();
    reading.counted = since_the_start.clinics.at(clinic);
    const door::ClinicDoor& door = link.door();
    reading.token_ends = door.token_ends();
    reading.hub_certificate_ends = door.hub_certificate_ends();
    reading.clinic_certificate_ends = door.trust_ends();
    return reading;
}

watching::Condition HubWatch::condition() const {
    return {trouble_with(parts_.settings.data), intake::Inbox::trouble_with(parts_.settings.inbox),
            free_bytes_of(parts_.settings.data)};
}

}  // namespace nightferry::service
