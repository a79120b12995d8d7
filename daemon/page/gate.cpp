#include "daemon/page/gate.hpp"

#include <algorithm>

#include "daemon/core/secrets.hpp"
#include "daemon/core/web_address.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::page {

namespace {

constexpr std::size_t token_bytes = 32;
constexpr std::size_t id_letters = 8;
// The longest that browsers keep a cookie (RFC 6265bis section 5.5).
constexpr std::chrono::seconds cookie_lasts = std::chrono::days{400};

std::string in_lower_case(std::string text) {
    std::ranges::transform(text, text.begin(), [](char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    });
    return text;
}

// What the cookie of that name holds; nothing where there are several, as a browser never sends them.
std::optional<std::string_view> cookie_in(const HttpHeaders& headers) {
    std::optional<std::string_view> found;
    for (std::string_view cookies : every_header(headers, "Cookie")) {
        while (!cookies.empty()) {
            const std::string_view pair = trimmed(cookies.substr(0, cookies.find(';')));
            cookies.remove_prefix(std::min(cookies.find(';'), cookies.size() - 1) + 1);
            if (pair.substr(0, pair.find('=')) != cookie_name || pair.size() == cookie_name.size()) continue;
            if (found) return std::nullopt;
            found = pair.substr(cookie_name.size() + 1);
        }
    }
    return found;
}

bool only_reads(const HttpRequest& request) {
    return request.method == "GET" || request.method == "HEAD";
}

}  // namespace

bool is_for_host(std::string_view name, std::string_view host) {
    if (!name.starts_with("*.")) return name == host;
    const auto dot = host.find('.');
    return dot != std::string_view::npos && dot > 0 && host.substr(dot) == name.substr(1);
}

void Gate::open_at(std::vector<std::string> names, std::uint16_t port) {
    names_ = std::move(names);
    port_ = port;
}

std::vector<std::string> Gate::addresses() const {
    std::vector<std::string> all;
    for (const std::string& name : names_) {
        if (!name.starts_with('*')) all.push_back(WebAddress{true, name, port_, {}, {}}.origin());
    }
    return all;
}

// As it was written, when it names this hub.
std::optional<std::string> Gate::host_of(const HttpRequest& request) const {
    const auto hosts = every_header(request.headers, "Host");
    if (hosts.size() != 1) return std::nullopt;
    std::string host(hosts.front());
    const auto address = WebAddress::parse("https://" + host);
    if (!address || address->has_credentials || address->has_fragment || !address->path.empty() ||
        !address->query.empty() || address->port != port_)
        return std::nullopt;
    const bool is_ours = std::ranges::any_of(
        names_, [&](const std::string& name) { return is_for_host(name, address->host); });
    return is_ours ? std::optional(std::move(host)) : std::nullopt;
}

bool Gate::is_own(const HttpRequest& request) const {
    const auto host = host_of(request);
    if (!host) return false;
    if (only_reads(request)) return true;
    const auto origins = every_header(request.headers, "Origin");
    if (origins.size() != 1 || origins.front() != "https://" + *host) return false;
    // Fetch Metadata; browsers that do not know it send none.
    return std::ranges::all_of(every_header(request.headers, "Sec-Fetch-Site"),
                               [](std::string_view site) { return site == "same-origin"; });
}

std::optional<Device> Gate::who(const HttpRequest& request) {
    const auto token = cookie_in(request.headers);
    if (!token || token->size() != 2 * token_bytes) return std::nullopt;
    auto device = parts_.shelf.find(sha256(*token));
    if (!device) {
        take(device.error());
        return std::nullopt;
    }
    if (!*device || parts_.household.carer((*device)->carer) == nullptr) return std::nullopt;
    note_use(**device);
    if (failed_) return std::nullopt;
    return *device;
}

// The day only, so that nothing tells when somebody held a phone in hand, and one write a day is enough.
void Gate::note_use(const Device& device) {
    const Moment now = parts_.household.zone.at(parts_.clock.now());
    const auto day = std::chrono::floor<std::chrono::days>(now.at + now.offset);
    const std::string today = to_text(std::chrono::year_month_day(day));
    if (device.seen_on == today) return;
    const auto noted = parts_.shelf.note_use(device.id, today);
    if (!noted) take(noted.error());
}

// For want of room nothing is in doubt.
void Gate::take(const Error& error) {
    if (error.code != Errc::disk_full) failed_ = error;
}

Result<Paired> Gate::pair(std::string_view code, Instant now) {
    const auto answer = parts_.pairing.redeem(code, now);
    if (const auto* refused = std::get_if<Pairing::Refused>(&answer)) {
        const char* outcome = refused->is_locked          ? "while_locked"
                              : refused->lock.count() > 0 ? "locked"
                                                          : "wrong";
        parts_.log.event(LogEvent::pairing_refused,
                         {{"outcome", outcome}, {"seconds", std::to_string(refused->lock.count())}});
        if (refused->is_locked) return Error{Errc::locked, "no code is taken for a while"};
        return Error{Errc::bad_input, "this code is not good, or not any more"};
    }
    const auto& whom = std::get<Pairing::Invited>(answer);
    const std::string token = to_hex(parts_.secrets.bytes(token_bytes));
    Device device{in_lower_case(random_letters(parts_.secrets, id_letters)),
                  whom.name,
                  whom.carer,
                  sha256(token),
                  now,
                  std::nullopt,
                  {}};
    if (const auto added = parts_.shelf.add(device); !added) {
        take(added.error());
        return added.error();
    }
    parts_.log.event(LogEvent::device_paired, {{"device", device.id}});
    std::string cookie = std::string(cookie_name) + "=" + token +
                         "; Max-Age=" + std::to_string(cookie_lasts.count()) +
                         "; Path=/; Secure; HttpOnly; SameSite=Strict";
    return Paired{std::move(device), std::move(cookie)};
}

}  // namespace nightferry::page
