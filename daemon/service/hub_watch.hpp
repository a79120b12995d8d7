// The running hub as those see it who watch over services: reads what its parts know of themselves, and
// answers over the local socket and, where the settings say so, over TCP.
#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "config/settings.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/intake/desk.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/net/http_server.hpp"
#include "daemon/service/clinic_link.hpp"
#include "daemon/service/standing.hpp"
#include "daemon/watching/api.hpp"
#include "daemon/watching/hub_log.hpp"

namespace nightferry::service {

class HubWatch final : private watching::Watched {
 public:
    // All references outlive it.
    struct Parts {
        const config::Settings& settings;
        logbook::Outbox& outbox;
        const intake::Desk& desk;
        const std::vector<std::unique_ptr<ClinicLink>>& links;
        watching::CountedLog& log;
        Clock& clock;
        const DaemonSigns& daemon;
        std::function<bool()> is_disk_full;
        std::function<std::optional<Instant>()> page_certificate_ends;
        std::function<void(const Error&)> on_failure;  // When the logbook cannot be read.
    };
    explicit HubWatch(Parts parts);

    // Listens where [metrics] says, if it does not yet. Where that cannot be the log says so, and it may be
    // tried again: an address comes late after boot, a port gets free. It never ends what is watched.
    void listen(boost::asio::io_context& loop);

    HttpAnswer answer(const HttpRequest& request);

    // Since the daemon's start.
    watching::Counts counts() const;

 private:
    Result<watching::Reading> read() override;
    watching::Condition condition() const override;
    Result<watching::ClinicReading> read(ClinicLink& link, const watching::Counts& counts) const;

    Parts parts_;
    watching::Api api_;
    std::unique_ptr<net::HttpServer> server_;
    std::string not_served_because_;
};

}  // namespace nightferry::service
