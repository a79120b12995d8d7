#include "daemon/service/hub_watch.hpp"

#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "daemon/logbook/opening.hpp"

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
intake::Desk::Tallies all_of(intake::Desk::Tallies tallies) {
    using Kind = intake::Answer::Kind;
    for (const char* way : {"inbox", "local"}) {
        for (const Kind kind : {Kind::accepted, Kind::already_there, Kind::conflict, Kind::refused})
            tallies[way].try_emplace(std::string(intake::word_for(kind)));
        tallies[way].try_emplace("unreadable");
    }
    return tallies;
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
        if (!std::exchange(not_served_because_, {}).empty()) parts_.log.event(LogEvent::metrics_served);
        return;
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

Result<watching::Reading> HubWatch::read() {
    watching::Reading reading;
    reading.now = parts_.clock.now();
    reading.started = parts_.started;
    reading.version = NIGHTFERRY_VERSION;
    reading.handed_in = all_of(parts_.desk.tallies());
    reading.events = parts_.log.counts();
    reading.data_free_bytes = free_bytes_of(parts_.settings.data);
    reading.logbook_bytes = size_of(logbook::file_in(parts_.settings.data));
    for (const auto& link : parts_.links) {
        auto one = read(*link);
        if (!one) return one.error();
        reading.clinics.push_back(std::move(*one));
    }
    return reading;
}

Result<watching::ClinicReading> HubWatch::read(ClinicLink& link) const {
    const std::string& clinic = link.loop().clinic();
    const auto counts = parts_.outbox.counts(clinic);
    if (!counts) return counts.error();
    watching::ClinicReading reading;
    reading.clinic = clinic;
    reading.counts = *counts;
    reading.state = link.loop().state();
    reading.is_running = link.loop().is_running();
    reading.passes_ended = link.loop().passes().at(sync::PassResult::all_sent);
    reading.passes_stopped = link.loop().passes().at(sync::PassResult::stopped);
    const door::ClinicDoor& door = link.door();
    reading.requests = door.traffic().requests;
    reading.sent_bytes = door.traffic().sent_bytes;
    reading.received_bytes = door.traffic().received_bytes;
    reading.token_ends = door.token_ends();
    reading.hub_certificate_ends = door.hub_certificate_ends();
    reading.clinic_certificate_ends = door.trust_ends();
    return reading;
}

watching::Condition HubWatch::condition() const {
    return {trouble_with(parts_.settings.data), trouble_with(parts_.settings.inbox),
            free_bytes_of(parts_.settings.data)};
}

}  // namespace nightferry::service
