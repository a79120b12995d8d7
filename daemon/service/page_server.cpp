#include "daemon/service/page_server.hpp"

#include <algorithm>
#include <utility>

#include "daemon/core/secret_file.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/net/own_certificate.hpp"
#include "daemon/net/tls_settings.hpp"

namespace nightferry::service {

namespace {

// As with the certificate that the hub shows a clinic.
constexpr std::chrono::days warning{30};
constexpr std::chrono::days between_warnings{1};

net::ServerLimits limits_for_phones() {
    net::ServerLimits limits;
    // A browser opens up to six at once, and a household has some phones.
    limits.connections = 24;
    limits.header_bytes = 8 * 1024;
    limits.body_bytes = 64 * 1024;
    limits.idle = std::chrono::seconds{15};
    limits.handshake = std::chrono::seconds{5};
    return limits;
}

Error in_setting(const std::string& key, const Error& error) {
    return {error.code, "page." + key + ": " + error.detail};
}

Result<net::ServerIdentity> read_identity(const config::PageListener& page) {
    auto certificate = read_beside_secrets(page.certificate);
    if (!certificate) return in_setting("certificate", certificate.error());
    auto key = read_secret(page.key);
    if (!key) return in_setting("key", key.error());
    if (net::names_in(*certificate).empty())
        return in_setting("certificate",
                          {Errc::setup, page.certificate.string() +
                                            " is no certificate in PEM that names what it is for "
                                            "(subjectAltName); nightferry new-certificate makes one"});
    return net::ServerIdentity{std::move(*certificate), std::move(*key)};
}

bool is_every_address(const std::string& address) {
    return address == "0.0.0.0" || address == "::";
}

}  // namespace

std::optional<Error> fault_of_page(const config::Settings& settings) {
    if (!settings.page) return std::nullopt;
    const auto identity = read_identity(*settings.page);
    if (!identity) return identity.error();
    const auto context = net::make_tls_context(*identity);
    return context ? std::nullopt : std::optional(in_setting("certificate", context.error()));
}

PageServer::PageServer(Parts parts)
    : parts_(std::move(parts)),
      shelf_(parts_.db),
      pairing_(secrets_),
      gate_({parts_.settings.household, shelf_, pairing_, secrets_, parts_.clock, parts_.log}),
      api_(parts_.settings.household, shelf_, parts_.clock,
           {[this](const std::string& carer, const std::string& name) { return invite(carer, name); },
            [this](const std::string& id) {
                parts_.log.event(LogEvent::device_revoked, {{"device", id}});
            }}) {}

void PageServer::listen(boost::asio::io_context& loop) {
    const auto& page = parts_.settings.page;
    if (!page) return;
    if (server_) return tell_end_of_certificate();
    const auto opened = open(loop, *page);
    if (opened) {
        not_served_because_.clear();
        parts_.log.event(LogEvent::page_served);
        return tell_end_of_certificate();
    }
    const std::string& why = opened.error().detail;
    if (std::exchange(not_served_because_, why) != why)
        parts_.log.event(LogEvent::page_not_served, {{"reason", why}});
}

Result<void> PageServer::open(boost::asio::io_context& loop, const config::PageListener& page) {
    const auto identity = read_identity(page);
    if (!identity) return identity.error();
    auto server = net::HttpServer::open_tls(
        loop, page.address, page.port, *identity,
        [this](const HttpRequest& request) { return handle(request); }, limits_for_phones());
    if (!server) return server.error();
    server_ = std::move(*server);
    certificate_ends_ = net::end_of_validity(identity->certificate);
    std::vector<std::string> names = net::names_in(identity->certificate);
    const bool is_named = std::ranges::find(names, page.address) != names.end();
    if (!is_named && !is_every_address(page.address)) names.push_back(page.address);
    gate_.open_at(std::move(names), page.port);
    return {};
}

void PageServer::tell_end_of_certificate() {
    const Instant now = parts_.clock.now();
    if (!certificate_ends_ || *certificate_ends_ - now > warning) return;
    const bool is_told = told_its_end_ && now >= *told_its_end_ && now - *told_its_end_ < between_warnings;
    if (is_told) return;
    told_its_end_ = now;
    parts_.log.event(LogEvent::page_certificate_ends);
}

HttpAnswer PageServer::handle(const HttpRequest& request) {
    HttpAnswer answer = parts_.handler(request);
    if (gate_.failed()) parts_.on_failure(*gate_.failed());
    return answer;
}

HttpAnswer PageServer::answer(const HttpRequest& request) {
    auto answer = api_.answer(request);
    if (answer) return std::move(*answer);
    const Error& error = answer.error();
    if (error.code == Errc::disk_full)
        return intake::error_answer(507, error.detail + "; nothing was changed");
    parts_.on_failure(error);
    return intake::error_answer(500, error.detail);
}

Result<page::DeviceApi::Invitation> PageServer::invite(const std::string& carer, const std::string& name) {
    if (!parts_.settings.page)
        return Error{Errc::setup,
                     "the settings have no [page], so there is nothing to pair a phone with; the sample "
                     "settings explain it"};
    if (!server_) return Error{Errc::setup, "the page is not served: " + not_served_because_};
    auto code = pairing_.invite(carer, name, parts_.clock.now());
    if (!code) return code.error();
    return page::DeviceApi::Invitation{std::move(*code), gate_.addresses()};
}

}  // namespace nightferry::service
