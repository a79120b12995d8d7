// One clinic's endpoint over HTTPS/1.1, or plain HTTP to this machine itself.
//
// The connection is kept between the requests of a pass and closed by rest(). After any failure it is closed
// too, so that a late answer can never be taken for the answer to another request. Redirects are not
// followed; the server's certificate and name are always checked.
#pragma once

#include <chrono>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "daemon/core/result.hpp"
#include "daemon/sync/ports.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::net {

struct ClinicAddress {
    bool tls = true;
    std::string host;
    std::uint16_t port = 443;
    std::string base_path;
    std::optional<std::filesystem::path> trust;  // PEM file of the only CAs to trust.
};

struct ClientLimits {
    std::chrono::seconds connect{10};
    std::chrono::seconds handshake{10};
    std::chrono::seconds exchange{90};  // From the first byte sent to the last received.
    std::size_t header_bytes = 64 * 1024;
    std::size_t body_bytes = 16 * 1024 * 1024;
};

class HttpsClient final : public sync::ClinicPort {
 public:
    // Errc::setup when the CA file cannot be used.
    static Result<std::unique_ptr<HttpsClient>> make(boost::asio::io_context& loop, ClinicAddress address,
                                                     ClientLimits limits = {});
    ~HttpsClient() override;

    void send(HttpRequest request, std::function<void(sync::Reply)> done) override;
    void rest() override;

 private:
    class Line;
    explicit HttpsClient(std::shared_ptr<Line> line);
    std::shared_ptr<Line> line_;
};

}  // namespace nightferry::net
