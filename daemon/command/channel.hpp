// How the command reaches the hub: over the daemon's local socket, or, for reading while the daemon is
// stopped, by opening the logbook itself.
#pragma once

#include <string>

#include "config/settings.hpp"
#include "daemon/core/http.hpp"
#include "daemon/core/result.hpp"

namespace nightferry::command {

class Channel {
 public:
    explicit Channel(const config::Settings& settings) : settings_(settings) {}

    // Errc::unreachable when the daemon does not answer and there is no logbook to read, or when another
    // process is in the way.
    Result<HttpAnswer> get(const std::string& target);
    // Errc::unreachable when the daemon does not answer. Repeating a request is always safe.
    Result<HttpAnswer> post(const std::string& target, std::string body = {},
                            const std::string& media_type = {});

    // Whether the last answer was read from the logbook because no daemon runs.
    bool was_alone() const { return was_alone_; }

 private:
    Result<HttpAnswer> read_alone(const HttpRequest& request) const;

    const config::Settings& settings_;
    bool was_alone_ = false;
};

}  // namespace nightferry::command
