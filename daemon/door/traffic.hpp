// What went to a clinic's FHIR server and what came back, in numbers.
#pragma once

#include <cstdint>
#include <map>
#include <string>

#include "daemon/core/http.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::door {

struct Traffic {
    // By outcome. Each is there from the start, so that the first of a kind is seen as one more.
    std::map<std::string, std::int64_t> requests{{"2xx", 0},      {"3xx", 0},         {"4xx", 0},
                                                 {"5xx", 0},      {"unreachable", 0}, {"untrusted", 0},
                                                 {"no_answer", 0}};
    std::int64_t sent_bytes = 0;  // Of bodies only, and of what may have arrived.
    std::int64_t received_bytes = 0;

    void count(std::size_t body_bytes, const sync::Reply& reply);
};

}  // namespace nightferry::door
