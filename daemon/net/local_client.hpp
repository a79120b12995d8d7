// One request to the daemon's local socket.
#pragma once

#include <chrono>
#include <filesystem>

#include "daemon/core/http.hpp"
#include "daemon/core/result.hpp"

namespace nightferry::net {

// Blocks until the answer is there. Errc::unreachable when nobody listens or the connection breaks,
// Errc::locked when somebody listens and the answer does not come in time; the request may then have been
// carried out or not, and repeating it is safe by the API's design.
Result<HttpAnswer> call_local(const std::filesystem::path& socket, const HttpRequest& request,
                              std::chrono::seconds patience = std::chrono::seconds{60});

}  // namespace nightferry::net
