// The page for carers' phones, as the settings describe it: who is let in, where it is served, and how long
// its certificate lasts. What a phone gets comes from outside.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "config/settings.hpp"
#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/logbook/device_shelf.hpp"
#include "daemon/net/http_server.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/page/device_api.hpp"
#include "daemon/page/gate.hpp"
#include "daemon/page/pairing.hpp"

namespace nightferry::service {

// What is wrong with the files that [page] names; nothing when they serve, or there is no [page].
std::optional<Error> fault_of_page(const config::Settings& settings);

class PageServer {
 public:
    // All references outlive it.
    struct Parts {
        const config::Settings& settings;
        logbook::Database& db;
        Clock& clock;
        Log& log;
        std::function<HttpAnswer(const HttpRequest&)>
            handler;                                   // Of every request that comes over the network.
        std::function<void(const Error&)> on_failure;  // When the logbook failed.
    };
    explicit PageServer(Parts parts);
    PageServer(const PageServer&) = delete;
    PageServer& operator=(const PageServer&) = delete;

    // Listens where [page] says, if it does not yet, and says in the log when the certificate is about to
    // end. Where it cannot listen the log says so, and it may be tried again; it never ends what else the hub
    // does.
    void listen(boost::asio::io_context& loop);

    // One request to the local API, if page::DeviceApi::is_for() its path.
    HttpAnswer answer(const HttpRequest& request);

    page::Gate& gate() { return gate_; }
    // While the page is served.
    std::optional<Instant> certificate_ends() const { return certificate_ends_; }

 private:
    Result<void> open(boost::asio::io_context& loop, const config::PageListener& page);
    HttpAnswer handle(const HttpRequest& request);
    void tell_end_of_certificate();
    Result<page::DeviceApi::Invitation> invite(const std::string& carer, const std::string& name);

    Parts parts_;
    net::SystemSecrets secrets_;
    logbook::DeviceShelf shelf_;
    page::Pairing pairing_;
    page::Gate gate_;
    page::DeviceApi api_;
    std::unique_ptr<net::HttpServer> server_;
    std::string not_served_because_;
    std::optional<Instant> certificate_ends_;
    std::optional<Instant> told_its_end_;
};

}  // namespace nightferry::service
