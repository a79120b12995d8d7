// The way in to one clinic as the settings describe it: secrets read, TLS and proxy set up, signing in.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/settings.hpp"
#include "daemon/access/authorized_clinic.hpp"
#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/door/traffic.hpp"
#include "daemon/net/https_client.hpp"
#include "daemon/net/system_ports.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::door {

class ClinicDoor final : public sync::ClinicPort {
 public:
    // Errc::setup, with the name of the setting, when a file in the settings does not serve. The references
    // outlive the door.
    static Result<std::unique_ptr<ClinicDoor>> make(boost::asio::io_context& loop,
                                                    const config::Clinic& clinic, Clock& clock,
                                                    Random& random, Log& log);

    void send(HttpRequest request, std::function<void(sync::Reply)> done) override;
    void rest() override;
    std::vector<std::string> denied() const override;

    // What a person should know about the way in, while records cross all the same: certificates of either
    // side that end within weeks, a token that allows less than was asked for, a key roll-over that has
    // happened.
    std::vector<access::Remark> remarks() const;

    const Traffic& traffic() const { return traffic_; }
    // When what opens the door ends, where that is known: our token, our certificate, and the first of those
    // by which the server was trusted.
    std::optional<Instant> token_ends() const { return keeper().expires(); }
    std::optional<Instant> hub_certificate_ends() const { return hub_certificate_ends_; }
    std::optional<Instant> trust_ends() const { return client_->trust_ends(); }

    // For trying the door.
    void send_without_signing_in(HttpRequest request, std::function<void(sync::Reply)> done);
    const net::Arrival& arrival() const { return client_->arrival(); }
    const access::TokenKeeper& keeper() const { return authorized_->keeper(); }

 private:
    ClinicDoor(boost::asio::io_context& loop, std::string clinic, Clock& clock, Log& log);

    std::string clinic_;
    Clock& clock_;
    Log& log_;
    net::LoopAlarm at_once_;
    net::HttpsClient* client_ = nullptr;  // Inside authorized_.
    std::unique_ptr<access::AuthorizedClinic> authorized_;
    std::optional<Instant> hub_certificate_ends_;
    Traffic traffic_;
};

// What is wrong with the files that the settings name for the way in to a clinic.
struct DoorFault {
    std::string clinic;
    Error error;
};
// One at most for each clinic.
std::vector<DoorFault> faults_of_doors(const config::Settings& settings, Clock& clock, Random& random,
                                       Log& log);

}  // namespace nightferry::door
