// How the command reaches the hub: over the daemon's local socket, or, for what works while the daemon is
// stopped, by opening the logbook itself.
#pragma once

#include <memory>
#include <string>

#include "config/load_settings.hpp"
#include "daemon/command/alone.hpp"
#include "daemon/core/http.hpp"
#include "daemon/core/result.hpp"

namespace nightferry::command {

// What the hub refused or failed at, in its words.
Error error_in(const HttpAnswer& answer);

class Channel {
 public:
    // Without settings, because there is something wrong with them, no logbook is opened. Both outlive the
    // channel.
    Channel(const config::Reach& reach, const config::Settings* settings)
        : reach_(reach), settings_(settings) {}

    // Errc::unreachable when the daemon does not answer and there is no logbook to read, or when another
    // process is in the way. Errc::setup when it does not answer and there are no settings.
    Result<HttpAnswer> get(const std::string& target) { return either({"GET", target, {}, {}}); }
    // The same for a request of any kind. Once the logbook was opened here, it stays open, and no daemon can
    // start meanwhile.
    Result<HttpAnswer> either(const HttpRequest& request);
    // Errc::unreachable when the daemon does not answer. Repeating a request is always safe.
    Result<HttpAnswer> post(const std::string& target, std::string body = {},
                            const std::string& media_type = {});

    // Whether the answers come from the logbook because no daemon runs.
    bool was_alone() const { return alone_ != nullptr; }

 private:
    Result<HttpAnswer> call(const HttpRequest& request) const;

    const config::Reach& reach_;
    const config::Settings* settings_;
    std::unique_ptr<Alone> alone_;
};

}  // namespace nightferry::command
