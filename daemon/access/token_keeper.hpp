// Gets and keeps the token that lets the hub in, as the settings say: none at all, a fixed one from a file,
// or one from the clinic's token server (SMART Backend Services,
// https://hl7.org/fhir/smart-app-launch/STU2/backend-services.html; or RFC 8705 section 2, with a certificate
// in place of a signature).
//
// It decides and does nothing itself: AuthorizedClinic asks what comes next and tells what was answered.
// Tokens are kept in memory only, and no longer than the server says.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/access/client_assertion.hpp"
#include "daemon/access/scopes.hpp"
#include "daemon/access/smart_configuration.hpp"
#include "daemon/access/token_answer.hpp"
#include "daemon/core/log_events.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::access {

// Names as RFC 7591 and RFC 8705 register them, where they do.
enum class Method {
    none,             // The server asks nobody, or only for a certificate in TLS.
    bearer,           // A token that the clinic gave once.
    private_key_jwt,  // A signed assertion for each token.
    tls_client_auth,  // A certificate in TLS for each token; self-signed ones look the same from here.
};

struct Access {
    Method method = Method::none;
    std::string bearer;
    std::string client_id;
    std::vector<Signer> signers;         // The current key, and the next one where a roll-over is planned.
    std::optional<Algorithm> algorithm;  // In the settings; otherwise what suits key and server.
    std::string token_endpoint;          // In the settings; otherwise the server is asked.
    std::string scope;                   // The same.
    // Asked for beyond the usual needs, and done without where the server refuses to grant that.
    std::vector<Need> wishes;
};

// Something about the way in that a person should know, while records cross all the same.
struct Remark {
    LogEvent event;
    std::string words;
};

class TokenKeeper {
 public:
    // `base` is the clinic's FHIR base address. The reference outlives the keeper.
    TokenKeeper(Access access, std::string base, Random& random);

    // What comes next before a request can be sent.
    struct Ready {
        std::string authorization;  // Of the header; empty: none is sent.
    };
    struct Discover {};  // Get smart_configuration_path from the FHIR server and tell discovered().
    struct Ask {         // Send this to the token server and tell answered().
        std::string endpoint;
        HttpRequest request;
    };
    using Step = std::variant<Ready, Discover, Ask, sync::NoAnswer>;
    // NoAnswer: there is no way in for this request; a later one may try again.
    Step next(Instant now);

    void discovered(const sync::Reply& reply);
    void answered(const sync::Reply& reply, Instant now);
    // The clinic refused the token that it was sent: true when a fresh one may be got.
    bool refused();

    // Types of which the token allows no creation although the hub would send them.
    const std::vector<std::string>& denied() const { return denied_; }
    std::vector<Remark> remarks() const;
    std::optional<Instant> expires() const;

 private:
    void close(sync::NoAnswer::Reached reached, std::string words);
    Ask ask(Instant now);
    Algorithm algorithm_for(const Signer& signer) const;
    void take(Token token, Instant now);
    void forget_server();
    std::string way_out() const;  // What to do where the client is refused.
    void on_no_token(const NoToken& none, const HttpAnswer& answer, Instant now);
    std::string asked_scope() const;
    std::vector<Need> needs(bool with_wishes) const;

    Access access_;
    std::string base_;
    Random& random_;
    std::optional<SmartConfiguration> server_;
    std::optional<Token> token_;
    Instant renew_at_;
    bool is_unused_ = false;           // Just got, so good for one request however short it lives.
    std::size_t signer_ = 0;           // That the clinic takes, as far as we know.
    std::size_t refused_signers_ = 0;  // In a row.
    std::string first_refusal_;
    std::vector<std::string> denied_;
    std::vector<Missing> missing_;
    bool without_wishes_ = false;  // They were refused for the token that is asked for.
    bool lacks_wishes_ = false;    // The token there is was got without.
    std::optional<sync::NoAnswer> closed_;
};

}  // namespace nightferry::access
