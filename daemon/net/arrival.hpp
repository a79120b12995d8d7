// How far a connection came, and by what way; for people who want to know why it came no further.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"

namespace nightferry::net {

struct Arrival {
    enum class Stage {
        nowhere,
        named,      // The name has addresses.
        connected,  // One of them answers.
        tunnelled,  // The proxy there opened a way.
        trusted,    // The server showed in TLS that it is the right one.
    };
    Stage stage = Stage::nowhere;
    std::vector<std::string>
        addresses;     // Of the server, or of the proxy; in the order in which they are tried.
    std::string peer;  // The one that answered, with its port.
    std::string tls;   // "TLSv1.3 with TLS_AES_256_GCM_SHA384"
    std::optional<Instant> trust_ends;  // When the first certificate of the chain ends.
};

}  // namespace nightferry::net
