// What those who watch over services may ask, over the local socket and where the settings say so over TCP:
//
//   GET /v1/health    200 while the process lives and its loop turns
//   GET /v1/ready     200 while the hub can take entries in, otherwise 503 and {"because": ["…"]}
//   GET /metrics      OpenMetrics text
//
// HEAD gets the same; the server leaves the body out.
// Nothing here tells anything of entries, persons or carers.
#pragma once

#include <optional>
#include <string_view>

#include "daemon/core/http.hpp"
#include "daemon/watching/reading.hpp"

namespace nightferry::watching {

class Api {
 public:
    explicit Api(Watched& hub) : hub_(hub) {}

    static bool is_for(std::string_view path);
    HttpAnswer answer(const HttpRequest& request);

    // The error of a logbook that could not be read, if one came: the process has to end.
    const std::optional<Error>& failed() const { return failed_; }

 private:
    HttpAnswer ready() const;
    HttpAnswer metrics();

    Watched& hub_;
    std::optional<Error> failed_;
};

}  // namespace nightferry::watching
