// What a token server answers (RFC 6749 sections 5.1 and 5.2).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "daemon/core/http.hpp"
#include "daemon/core/time.hpp"

namespace nightferry::access {

struct Token {
    std::string value;
    Instant expires;
    std::optional<std::string> scope;  // Nothing when it is what was asked for.
};

struct NoToken {
    enum class Kind {
        for_now,         // It is busy or broken; the same request may work later.
        client_refused,  // It does not know this client, or not by this key or certificate.
        scope_refused,   // It grants nothing of what was asked for.
        something_else,  // It is no token server, or one that does not work like this.
    };
    Kind kind = Kind::for_now;
    std::string words;  // One sentence, without an address; what the server said is quoted.
};

// Whether it can stand in a header (RFC 6750 section 2.1).
bool can_be_sent(std::string_view token);

// A server that says nothing of the time is believed for five minutes, which is what SMART advises at most.
std::variant<Token, NoToken> read_token_answer(const HttpAnswer& answer, Instant now);

}  // namespace nightferry::access
