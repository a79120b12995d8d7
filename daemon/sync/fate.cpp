#include "daemon/sync/fate.hpp"

#include <algorithm>
#include <charconv>

#include "daemon/sync/http_date.hpp"
#include "fhir/exchange/outcome.hpp"

namespace nightferry::sync {

namespace {

using namespace std::chrono;

constexpr microseconds longest_wait_asked = hours{1};

std::string reason_phrase(int status) {
    switch (status) {
        case 400:
            return "bad request";
        case 401:
            return "the clinic does not know this hub; ask its IT what access it needs";
        case 403:
            return "the clinic does not permit this; ask its IT what access the hub needs";
        case 404:
            return "not found";
        case 405:
            return "not allowed";
        case 409:
            return "conflict";
        case 410:
            return "gone";
        case 412:
            return "precondition failed";
        case 413:
            return "too large";
        case 415:
            return "unsupported format";
        case 422:
            return "refused by the clinic's rules";
        case 429:
            return "too many requests";
        case 500:
            return "server error";
        case 502:
            return "bad gateway";
        case 503:
            return "unavailable";
        case 504:
            return "gateway timeout";
        default:
            return "unexpected answer";
    }
}

}  // namespace

Fate fate_of_status(int status, Purpose purpose) {
    switch (status) {
        case 202:
            return Fate::look;
        case 401:
        case 403:
        case 406:
        case 407:
        case 415:
        case 421:
        case 426:
        case 451:
        case 501:
        case 505:
            return Fate::stop;
        case 404:
            // For an update the one resource is missing; otherwise the address itself is wrong.
            if (purpose == Purpose::read) return Fate::look;
            return purpose == Purpose::update ? Fate::look : Fate::stop;
        case 405:
            if (purpose == Purpose::read) return Fate::refuse;
            return purpose == Purpose::update ? Fate::look : Fate::stop;
        case 410:
            return purpose == Purpose::update || purpose == Purpose::read ? Fate::look : Fate::refuse;
        case 409:
            return purpose == Purpose::update ? Fate::look : Fate::retry;
        case 412:
            return purpose == Purpose::search || purpose == Purpose::read ? Fate::refuse : Fate::look;
        case 408:
        case 425:
        case 429:
            return Fate::retry;
        default:
            break;
    }
    if (status >= 200 && status < 300) return Fate::done;
    if (status >= 300 && status < 400) return Fate::stop;
    if (status >= 400 && status < 500) return Fate::refuse;
    return Fate::retry;
}

Fate fate_of(const Reply& reply, Purpose purpose) {
    if (const auto* answer = std::get_if<HttpAnswer>(&reply)) return fate_of_status(answer->status, purpose);
    return std::get<NoAnswer>(reply).reached == NoAnswer::Reached::untrusted ? Fate::stop : Fate::retry;
}

bool means_not_offered(int status) {
    return status == 404 || status == 405 || status == 501;
}

bool says_busy(const Reply& reply) {
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    return answer != nullptr && (answer->status == 429 || answer->status == 503);
}

bool may_have_acted(const Reply& reply) {
    if (const auto* none = std::get_if<NoAnswer>(&reply)) return none->reached == NoAnswer::Reached::perhaps;
    const int status = std::get<HttpAnswer>(reply).status;
    // A gateway or a failing server may have passed it on before it failed, or gave up waiting for itself; a
    // refusal that says why, or that it is too early or too often, did not act.
    return status < 400 || status == 408 || status == 409 || status >= 500;
}

std::optional<microseconds> retry_after(const HttpAnswer& answer, Instant now) {
    const std::string_view text = header(answer.headers, "Retry-After");
    if (text.empty()) return std::nullopt;
    std::int64_t count = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), count);
    if (failure == std::errc() && end == text.data() + text.size() && count >= 0) {
        return std::min<microseconds>(seconds{std::min<std::int64_t>(count, 86'400)}, longest_wait_asked);
    }
    const auto date = read_http_date(text, now);
    if (!date) return std::nullopt;
    return std::clamp<microseconds>(*date - now, microseconds{0}, longest_wait_asked);
}

std::optional<Instant> date_of(const HttpAnswer& answer, Instant now) {
    return read_http_date(header(answer.headers, "Date"), now);
}

std::string words_for(const Reply& reply) {
    if (const auto* none = std::get_if<NoAnswer>(&reply)) return none->words;
    const auto& answer = std::get<HttpAnswer>(reply);
    if (answer.status >= 300 && answer.status < 400) {
        return "the clinic's address sends us elsewhere (HTTP " + std::to_string(answer.status) +
               "), which is never followed; correct the address in the settings";
    }
    return words_for(answer.status, fhir::exchange::server_words(answer.body));
}

std::string words_for(int status, const std::string& clinics_words) {
    std::string words = "the clinic gave no status";
    if (status != 0) words = "HTTP " + std::to_string(status) + " " + reason_phrase(status);
    if (!clinics_words.empty()) words += ", the clinic says: " + clinics_words;
    return words;
}

}  // namespace nightferry::sync
