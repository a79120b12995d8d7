#include "daemon/door/clinic_door.hpp"

#include <boost/asio/io_context.hpp>

#include "daemon/access/base64.hpp"
#include "daemon/core/secret_file.hpp"

namespace nightferry::door {

namespace {

using Method = config::Authorization::Method;

// Long enough for people to ask for a new one and get it.
constexpr std::chrono::days own_warning{30};
// Of an answer with a token, or a refusal.
constexpr std::size_t token_answer_bytes = 1024 * 1024;
// Shorter, as many servers renew theirs by themselves a month before.
constexpr std::chrono::days server_warning{21};

// Names the setting in front of what is wrong.
Error in_setting(const config::Clinic& clinic, const std::string& key, const Error& error) {
    return {error.code, "clinic " + clinic.name + ": " + key + ": " + error.detail};
}

Result<std::string> secret(const config::Clinic& clinic, const std::string& key,
                           const config::SecretFile& file, bool is_one_line) {
    if (file.empty()) return std::string();
    auto content = is_one_line ? read_secret_line(file) : read_secret(file);
    if (!content) return in_setting(clinic, key, content.error());
    return content;
}

Result<access::Signer> signer(const config::Clinic& clinic, const std::string& key,
                              const config::SecretFile& file, const std::string& key_id) {
    const auto pem = secret(clinic, "authorization." + key, file, false);
    if (!pem) return pem.error();
    auto read = access::SigningKey::from_pem(*pem);
    if (!read) {
        return in_setting(clinic, "authorization." + key,
                          {read.error().code, file.string() + " " + read.error().detail});
    }
    const access::Algorithm usual = read->usual();
    const std::string id = key_id.empty() ? read->thumbprint() : key_id;
    return access::Signer{std::move(*read), usual, id};
}

Result<access::Access> access_of(const config::Clinic& clinic) {
    const config::Authorization& from = clinic.authorization;
    access::Access access;
    access.method = static_cast<access::Method>(from.method);
    access.client_id = from.client_id;
    access.scope = from.scope;
    access.token_endpoint = from.token_endpoint;
    if (clinic.orders) access.wishes = access::order_needs();
    if (!from.algorithm.empty()) access.algorithm = access::algorithm_named(from.algorithm);
    const auto token = secret(clinic, "authorization.token", from.token, true);
    if (!token) return token.error();
    access.bearer = *token;
    if (!token->empty() && !access::can_be_sent(*token)) {
        return in_setting(
            clinic, "authorization.token",
            {Errc::setup, from.token.string() + " holds more than a token; it has to be the only word"});
    }
    if (from.method != Method::private_key_jwt) return access;
    auto current = signer(clinic, "key", from.key, from.key_id);
    if (!current) return current.error();
    if (access.algorithm && !current->key.can(*access.algorithm)) {
        return in_setting(clinic, "authorization.algorithm",
                          {Errc::setup, "the key is of another kind and cannot sign with " + from.algorithm});
    }
    access.signers.push_back(std::move(*current));
    if (from.next_key.empty()) return access;
    auto next = signer(clinic, "next_key", from.next_key, from.next_key_id);
    if (!next) return next.error();
    access.signers.push_back(std::move(*next));
    return access;
}

Result<net::Route> route_of(const config::Clinic& clinic) {
    net::Route route{clinic.base, {clinic.trust, clinic.pins, {}, {}}, {}};
    auto certificate = clinic.certificate.empty() ? Result<std::string>(std::string())
                                                  : read_beside_secrets(clinic.certificate);
    if (!certificate) return in_setting(clinic, "certificate", certificate.error());
    auto key = secret(clinic, "certificate_key", clinic.certificate_key, false);
    if (!key) return key.error();
    route.tls.certificate = std::move(*certificate);
    route.tls.key = std::move(*key);
    if (!clinic.proxy) return route;
    const auto credentials = secret(clinic, "proxy_credentials", clinic.proxy->credentials, true);
    if (!credentials) return credentials.error();
    // RFC 7617.
    const std::string authorization = credentials->empty() ? "" : "Basic " + access::base64(*credentials);
    route.proxy = net::Proxy{clinic.proxy->host, clinic.proxy->port, authorization};
    return route;
}

}  // namespace

ClinicDoor::ClinicDoor(boost::asio::io_context& loop, std::string clinic, Clock& clock, Log& log)
    : clinic_(std::move(clinic)), clock_(clock), log_(log), at_once_(loop) {}

Result<std::unique_ptr<ClinicDoor>> ClinicDoor::make(boost::asio::io_context& loop,
                                                     const config::Clinic& clinic, Clock& clock,
                                                     Random& random, Log& log) {
    auto access = access_of(clinic);
    if (!access) return access.error();
    auto route = route_of(clinic);
    if (!route) return route.error();
    auto client = net::HttpsClient::make(loop, *route);
    if (!client) return in_setting(clinic, "TLS", client.error());
    std::unique_ptr<ClinicDoor> door(new ClinicDoor(loop, clinic.name, clock, log));
    door->client_ = client->get();
    door->hub_certificate_ends_ = net::end_of_validity(route->tls.certificate);
    const auto token_server =
        [&loop,
         route = *route](const WebAddress& address) mutable -> Result<std::unique_ptr<sync::ClinicPort>> {
        // What is posted names the whole path.
        route.address = address;
        route.address.path.clear();
        route.address.query.clear();
        // What travels without TLS goes to this machine only.
        if (!address.tls) route.proxy.reset();
        net::ClientLimits limits;
        limits.body_bytes = token_answer_bytes;
        auto made = net::HttpsClient::make(loop, route, limits);
        if (!made) return made.error();
        return std::unique_ptr<sync::ClinicPort>(std::move(*made));
    };
    door->authorized_ = std::make_unique<access::AuthorizedClinic>(
        std::move(*client), access::TokenKeeper(std::move(*access), clinic.base.to_string(), random),
        token_server, clock, door->at_once_);
    return door;
}

void ClinicDoor::send(HttpRequest request, std::function<void(sync::Reply)> done) {
    const std::size_t body_bytes = request.body.size();
    authorized_->send(std::move(request), [this, body_bytes, done = std::move(done)](sync::Reply reply) {
        traffic_.count(body_bytes, reply);
        done(std::move(reply));
    });
}

void ClinicDoor::send_without_signing_in(HttpRequest request, std::function<void(sync::Reply)> done) {
    client_->send(std::move(request), std::move(done));
}

void ClinicDoor::rest() {
    authorized_->rest();
    for (const access::Remark& one : remarks())
        log_.event(one.event, {{"clinic", clinic_}});
}

std::vector<std::string> ClinicDoor::denied() const {
    return authorized_->keeper().denied();
}

std::vector<access::Remark> ClinicDoor::remarks() const {
    std::vector<access::Remark> all = authorized_->keeper().remarks();
    const Instant now = clock_.now();
    const auto add = [&](LogEvent event, const std::optional<Instant>& ends, std::chrono::days before,
                         const std::string& whose) {
        if (!ends || *ends - now > before) return;
        all.push_back({event, whose + (*ends > now ? " ends on " : " has ended on ") + to_text(*ends)});
    };
    add(LogEvent::hub_certificate_ends, hub_certificate_ends_, own_warning,
        "this hub's certificate for the clinic");
    add(LogEvent::clinic_certificate_ends, client_->trust_ends(), server_warning,
        "a certificate by which the clinic's server is trusted");
    return all;
}

std::vector<DoorFault> faults_of_doors(const config::Settings& settings, Clock& clock, Random& random,
                                       Log& log) {
    boost::asio::io_context loop;
    std::vector<DoorFault> faults;
    for (const config::Clinic& clinic : settings.clinics) {
        const auto door = ClinicDoor::make(loop, clinic, clock, random, log);
        if (!door) faults.push_back({clinic.name, door.error()});
    }
    return faults;
}

}  // namespace nightferry::door
