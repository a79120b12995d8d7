// How a clinic is reached, and how the hub shows there who it is.
#include <algorithm>
#include <array>

#include "config/sections.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::config {

namespace {

using Method = Authorization::Method;

constexpr std::string_view credential_prefix = "credential:";

constexpr std::array<std::pair<std::string_view, Method>, 4> methods{
    {{"none", Method::none},
     {"bearer", Method::bearer},
     {"private_key_jwt", Method::private_key_jwt},
     {"tls_client_auth", Method::tls_client_auth}}};
constexpr std::array<std::string_view, 4> algorithms{"RS256", "RS384", "ES256", "ES384"};

// What may hold a password is not repeated.
std::string quoted_unless_secret(std::string_view text) {
    return text.find('@') == std::string_view::npos ? in_quotes(text) : "what stands here";
}

// Somebody wrote the secret where its file should be named.
bool may_be_a_secret(std::string_view text) {
    return text.starts_with("-----BEGIN") || text.starts_with("eyJ") ||
           text.find_first_of("./") == std::string_view::npos;
}

// 32 bytes in base64.
bool is_pin(std::string_view text) {
    constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    return text.size() == 44 && text.ends_with('=') &&
           text.substr(0, 43).find_first_not_of(letters) == std::string_view::npos;
}

void read_pins(TableReader& table, Clinic& clinic) {
    for (const std::string& pin : table.list("pins")) {
        if (is_pin(pin)) {
            clinic.pins.push_back(pin);
        } else {
            table.problem("pins",
                          in_quotes(pin) +
                              " is not the SHA-256 of a public key in base64, 44 characters with '=' at the "
                              "end; separate several by commas");
        }
    }
}

void read_certificate(TableReader& table, const std::filesystem::path& folder, Clinic& clinic) {
    clinic.certificate = read_secret_file(table, "certificate", folder);
    clinic.certificate_key = read_secret_file(table, "certificate_key", folder);
    if (clinic.certificate.empty() != clinic.certificate_key.empty())
        table.problem(clinic.certificate.empty() ? "certificate_key" : "certificate",
                      "certificate and certificate_key belong together");
    if (!clinic.certificate.empty() && !clinic.base.tls && !clinic.base.host.empty())
        table.problem("certificate", "a certificate is shown in TLS only, and the address is http");
}

void read_proxy(TableReader& table, const std::filesystem::path& folder, Clinic& clinic) {
    const SecretFile credentials = read_secret_file(table, "proxy_credentials", folder);
    const auto text = table.text("proxy");
    if (!text) {
        if (!credentials.empty()) table.problem("proxy_credentials", "there is no proxy to show them to");
        return;
    }
    const auto address = WebAddress::parse(*text);
    if (address && address->has_credentials) {
        table.problem("proxy",
                      "credentials do not belong into an address; write their file as proxy_credentials");
        return;
    }
    if (!address || address->tls || !(address->path.empty() || address->path == "/") ||
        !address->query.empty()) {
        table.problem("proxy", quoted_unless_secret(*text) +
                                   " is not a proxy's address; write it like \"http://proxy.example:3128\"");
        return;
    }
    if (!clinic.base.tls && !clinic.base.host.empty())
        table.problem("proxy", "what travels without TLS goes to this machine only, and not through a proxy");
    clinic.proxy = ProxySettings{address->host, address->port, credentials};
}

// Whether the method is known; what belongs to none of the methods is told anyway.
bool read_method(TableReader& table, Authorization& authorization) {
    const std::string text = table.need_text("method", "how the hub signs in there");
    if (text.empty()) return false;
    const auto found =
        std::find_if(methods.begin(), methods.end(), [&](const auto& one) { return one.first == text; });
    if (found != methods.end()) {
        authorization.method = found->second;
        return true;
    }
    std::vector<std::string_view> names;
    for (const auto& [name, method] : methods)
        names.push_back(name);
    table.problem("method", in_quotes(text) + " is not a way to sign in that we know; expected " +
                                any_of(names) + "." + did_you_mean(text, names));
    return false;
}

void read_token_endpoint(TableReader& table, Authorization& authorization) {
    const auto text = table.text("token_endpoint");
    if (!text) return;
    const auto address = WebAddress::parse(*text);
    if (address && address->has_credentials) {
        table.problem("token_endpoint", "credentials do not belong into an address; take them out");
    } else if (!address || address->has_fragment) {
        table.problem("token_endpoint",
                      quoted_unless_secret(*text) +
                          " is not an address; write it like \"https://clinic.example/token\"");
    } else if (!address->tls && !address->is_loopback()) {
        table.problem("token_endpoint", "whoever may read a token may use it; use https");
    } else {
        authorization.token_endpoint = *text;
    }
}

// Each key with the methods that use it.
void check_needless(TableReader& table, Method method) {
    constexpr std::array<std::string_view, 6> of_keys{"key",         "next_key",  "key_id",
                                                      "next_key_id", "algorithm", ""};
    constexpr std::array<std::string_view, 4> of_tokens{"client_id", "token_endpoint", "scope", ""};
    const auto complain = [&](std::string_view key) {
        if (!key.empty() && table.has(key)) table.problem(key, "is not used with this method; take it out");
    };
    if (method != Method::private_key_jwt) std::for_each(of_keys.begin(), of_keys.end(), complain);
    if (method == Method::none || method == Method::bearer)
        std::for_each(of_tokens.begin(), of_tokens.end(), complain);
    if (method != Method::bearer) complain("token");
}

void check_method(TableReader& table, const Clinic& clinic) {
    const Authorization& authorization = clinic.authorization;
    const bool gets_tokens =
        authorization.method == Method::private_key_jwt || authorization.method == Method::tls_client_auth;
    const auto need = [&](std::string_view key, bool is_there, const std::string& what) {
        if (!is_there && !table.has(key)) table.problem(key, "is missing; expected " + what);
    };
    if (authorization.method == Method::bearer)
        need("token", !authorization.token.empty(), "the file of the token that the clinic gave");
    if (gets_tokens)
        need("client_id", !authorization.client_id.empty(), "the id that the clinic gave this hub");
    if (authorization.method == Method::private_key_jwt)
        need("key", !authorization.key.empty(), "the file of this hub's private key");
    if (authorization.method == Method::tls_client_auth && clinic.certificate.empty())
        table.problem("method", "needs certificate and certificate_key of the clinic");
    if (authorization.method == Method::none && !clinic.base.is_loopback() && clinic.certificate.empty())
        table.problem("method",
                      "leaves the door open: without signing in only a server on this machine is written to");
}

}  // namespace

SecretFile read_secret_file(TableReader& table, std::string_view key, const std::filesystem::path& folder) {
    const auto text = table.text(key);
    if (!text) return {};
    if (text->starts_with(credential_prefix)) return *text;
    if (may_be_a_secret(*text)) {
        table.problem(key,
                      "secrets do not stand in the settings; write the path of a file that holds it, like "
                      "\"/etc/nightferry/clinic-key.pem\"");
        return {};
    }
    return folder / *text;
}

void read_way_in(TableReader& table, const std::filesystem::path& folder, Clinic& clinic,
                 std::vector<Problem>& problems) {
    if (const auto trust = table.text("trust")) clinic.trust = folder / *trust;
    read_pins(table, clinic);
    read_certificate(table, folder, clinic);
    read_proxy(table, folder, clinic);
    const toml::table* found = table.table("authorization");
    if (found == nullptr) {
        const bool is_open = clinic.certificate.empty() && clinic.base.tls && !clinic.base.host.empty() &&
                             !clinic.base.is_loopback();
        if (is_open && !table.has("authorization")) {
            table.problem("authorization",
                          "is missing; expected [clinic.authorization] with how the hub signs in there "
                          "(without it only "
                          "a server on this machine is written to)");
        }
        return;
    }
    TableReader rows(*found, table.path_of("authorization"), problems);
    Authorization& authorization = clinic.authorization;
    const bool is_known = read_method(rows, authorization);
    authorization.token = read_secret_file(rows, "token", folder);
    authorization.client_id = rows.text("client_id").value_or("");
    authorization.key = read_secret_file(rows, "key", folder);
    authorization.next_key = read_secret_file(rows, "next_key", folder);
    authorization.key_id = rows.text("key_id").value_or("");
    authorization.next_key_id = rows.text("next_key_id").value_or("");
    authorization.scope = rows.text("scope").value_or("");
    authorization.algorithm = rows.text("algorithm").value_or("");
    if (!authorization.algorithm.empty() &&
        std::find(algorithms.begin(), algorithms.end(), authorization.algorithm) == algorithms.end())
        rows.problem("algorithm", in_quotes(authorization.algorithm) + " is not " + any_of(algorithms));
    read_token_endpoint(rows, authorization);
    rows.report_leftovers();
    if (!is_known) return;
    check_method(rows, clinic);
    check_needless(rows, authorization.method);
}

}  // namespace nightferry::config
