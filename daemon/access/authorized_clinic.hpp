// A clinic's endpoint that wants to know who comes: puts the token into each request, gets one where there is
// none or it has run out, and gets one fresh token where the clinic refuses it (RFC 6750 section 3.1).
//
// The token goes to the clinic's FHIR server and nowhere else.
#pragma once

#include <functional>
#include <memory>
#include <optional>

#include "daemon/access/token_keeper.hpp"
#include "daemon/core/web_address.hpp"

namespace nightferry::access {

class AuthorizedClinic final : public sync::ClinicPort {
 public:
    // Makes a connection to a token server, with the certificates and checks that hold for the clinic.
    using TokenServer = std::function<Result<std::unique_ptr<sync::ClinicPort>>(const WebAddress&)>;

    // The references outlive the port; the alarm is for it alone.
    AuthorizedClinic(std::unique_ptr<sync::ClinicPort> clinic, TokenKeeper keeper, TokenServer token_server,
                     const Clock& clock, Alarm& at_once);

    void send(HttpRequest request, std::function<void(sync::Reply)> done) override;
    void rest() override;

    const TokenKeeper& keeper() const { return keeper_; }

 private:
    void go_on();
    void send_with(const std::string& authorization);
    void ask(const TokenKeeper::Ask& asked);
    void finish(sync::Reply reply);

    struct Pending {
        HttpRequest request;
        std::function<void(sync::Reply)> done;
        bool is_second_token = false;
    };

    std::unique_ptr<sync::ClinicPort> clinic_;
    TokenKeeper keeper_;
    TokenServer open_;
    std::unique_ptr<sync::ClinicPort> token_server_;
    std::optional<WebAddress> token_server_address_;
    const Clock& clock_;
    Alarm& at_once_;
    std::optional<Pending> pending_;
};

}  // namespace nightferry::access
