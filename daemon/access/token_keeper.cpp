#include "daemon/access/token_keeper.hpp"

#include <algorithm>

#include "daemon/core/web_address.hpp"
#include "daemon/core/words.hpp"
#include "daemon/sync/http_date.hpp"

namespace nightferry::access {

using Reached = sync::NoAnswer::Reached;

namespace {

constexpr std::chrono::seconds renewed_before{30};
constexpr std::chrono::minutes clocks_differ{1};

HttpRequest token_request(std::string body, const std::string& endpoint) {
    const auto address = WebAddress::parse(endpoint);
    return {"POST",
            address ? address->target() : std::string(),
            {{"Content-Type", "application/x-www-form-urlencoded"}, {"Accept", "application/json"}},
            std::move(body)};
}

std::string unique_id(Random& random) {
    constexpr char digits[] = "0123456789abcdef";
    std::string id;
    for (int i = 0; i < 32; ++i)
        id += digits[random.below(16)];
    return id;
}

// An assertion is dated by this hub's clock, and the server judges it by its own.
std::string clock_hint(const HttpAnswer& answer, Instant now) {
    const auto theirs = sync::read_http_date(header(answer.headers, "Date"), now);
    if (!theirs || std::chrono::abs(*theirs - now) < clocks_differ) return {};
    const auto minutes = std::chrono::duration_cast<std::chrono::minutes>(std::chrono::abs(*theirs - now));
    return "; this hub's clock is " + std::to_string(minutes.count()) + " min " +
           (*theirs > now ? "behind" : "ahead of") + " the token server's, which can be why";
}

}  // namespace

TokenKeeper::TokenKeeper(Access access, std::string base, Random& random)
    : access_(std::move(access)), base_(std::move(base)), random_(random) {
    if (!access_.token_endpoint.empty()) {
        server_.emplace();
        server_->token_endpoint = access_.token_endpoint;
    }
}

TokenKeeper::Step TokenKeeper::next(Instant now) {
    if (closed_) return *std::exchange(closed_, std::nullopt);
    if (access_.method == Method::none) return Ready{};
    if (access_.method == Method::bearer) return Ready{"Bearer " + access_.bearer};
    if (token_ && (std::exchange(is_unused_, false) || now < renew_at_))
        return Ready{"Bearer " + token_->value};
    if (!server_) return Discover{};
    Ask asked = ask(now);
    const auto address = WebAddress::parse(asked.endpoint);
    // A server elsewhere must not send this hub to one on its own machine.
    const auto base = WebAddress::parse(base_);
    const bool may_be_plain = !access_.token_endpoint.empty() || (base && base->is_loopback());
    if (address && (address->tls || (address->is_loopback() && may_be_plain))) return asked;
    forget_server();
    return sync::NoAnswer{Reached::untrusted,
                          "the clinic names " + in_quotes(asked.endpoint) +
                              " as its token endpoint, which is none that a token may be asked for at: it "
                              "has to be https"};
}

// What was learned of it may be out of date.
void TokenKeeper::forget_server() {
    if (access_.token_endpoint.empty()) server_.reset();
}

TokenKeeper::Ask TokenKeeper::ask(Instant now) {
    const bool by_certificate = access_.method == Method::tls_client_auth;
    const bool has_alias = by_certificate && !server_->mtls_token_endpoint.empty();
    const std::string& endpoint = has_alias ? server_->mtls_token_endpoint : server_->token_endpoint;
    std::string assertion;
    if (!by_certificate) {
        Signer signer = access_.signers.at(signer_);
        signer.algorithm = algorithm_for(signer);
        assertion = client_assertion(signer, access_.client_id, endpoint, unique_id(random_), now);
    }
    return {endpoint,
            token_request(token_request_body(asked_scope(), access_.client_id, assertion), endpoint)};
}

Algorithm TokenKeeper::algorithm_for(const Signer& signer) const {
    if (access_.algorithm && signer.key.can(*access_.algorithm)) return *access_.algorithm;
    const auto is_taken = [&](Algorithm one) {
        const auto& taken = server_->signing_algorithms;
        return std::find(taken.begin(), taken.end(), name_of(one)) != taken.end();
    };
    if (is_taken(signer.algorithm)) return signer.algorithm;
    for (const Algorithm other : {Algorithm::rs256, Algorithm::es256}) {
        if (signer.key.can(other) && is_taken(other)) return other;
    }
    return signer.algorithm;
}

std::string TokenKeeper::asked_scope() const {
    if (!access_.scope.empty()) return access_.scope;
    const bool old_form_only =
        server_ && server_->has_capability("permission-v1") && !server_->has_capability("permission-v2");
    return scopes_for(needs(!without_wishes_), old_form_only ? ScopeForm::v1 : ScopeForm::v2);
}

std::vector<Need> TokenKeeper::needs(bool with_wishes) const {
    std::vector<Need> all = usual_needs();
    if (with_wishes) all.insert(all.end(), access_.wishes.begin(), access_.wishes.end());
    return all;
}

void TokenKeeper::discovered(const sync::Reply& reply) {
    const std::string what = "how to get a token could not be learned from the clinic's server: ";
    if (const auto* none = std::get_if<sync::NoAnswer>(&reply)) {
        // Nothing that was sent can have changed anything.
        return close(none->reached == Reached::untrusted ? Reached::untrusted : Reached::no,
                     what + none->words);
    }
    const auto& answer = std::get<HttpAnswer>(reply);
    const std::string status = "HTTP " + std::to_string(answer.status);
    if (answer.status == 408 || answer.status == 429 || answer.status >= 500)
        return close(Reached::no, what + status);
    if (answer.status != 200) {
        const bool is_elsewhere = answer.status >= 300 && answer.status < 400;
        return close(Reached::untrusted,
                     what + (is_elsewhere ? "it sends us elsewhere, which is never followed: " : "") +
                         status + " at " + smart_configuration_path +
                         "; token_endpoint in the settings can say it");
    }
    auto read = read_smart_configuration(answer.body, base_);
    if (!read) return close(Reached::untrusted, what + "its document " + read.error().detail);
    server_ = std::move(*read);
}

void TokenKeeper::answered(const sync::Reply& reply, Instant now) {
    if (const auto* none = std::get_if<sync::NoAnswer>(&reply)) {
        forget_server();
        return close(none->reached == Reached::untrusted ? Reached::untrusted : Reached::no,
                     "no token could be got: " + none->words);
    }
    const auto& answer = std::get<HttpAnswer>(reply);
    auto read = read_token_answer(answer, now);
    if (auto* token = std::get_if<Token>(&read)) {
        take(std::move(*token), now);
    } else {
        on_no_token(std::get<NoToken>(read), answer, now);
    }
}

void TokenKeeper::take(Token token, Instant now) {
    refused_signers_ = 0;
    first_refusal_.clear();
    token_.reset();
    missing_.clear();
    denied_.clear();
    // With the next token they are asked for again: the clinic may have come to permit them.
    lacks_wishes_ = std::exchange(without_wishes_, false);
    if (token.scope && names_resources(*token.scope))
        missing_ = missing_from(*token.scope, needs(!lacks_wishes_));
    for (const Missing& one : missing_) {
        // Provenance goes under an id of ours, which is an update. What is never created lacks neither
        // letter.
        const char needed = one.type == "Provenance" ? 'u' : 'c';
        if (one.letters.find(needed) == std::string::npos) continue;
        denied_.push_back(one.type);
        if (one.type == "Provenance") continue;
        return close(Reached::untrusted, "the clinic's token does not allow this hub to " + in_words(one) +
                                             "; it allows '" + *token.scope +
                                             "'. The clinic has to permit more");
    }
    renew_at_ =
        token.expires - std::min<std::chrono::microseconds>(renewed_before, (token.expires - now) / 4);
    token_ = std::move(token);
    is_unused_ = true;
}

void TokenKeeper::on_no_token(const NoToken& none, const HttpAnswer& answer, Instant now) {
    forget_server();
    if (none.kind == NoToken::Kind::for_now) return close(Reached::no, none.words);
    const bool wished = access_.scope.empty() && !access_.wishes.empty() && !without_wishes_;
    if (none.kind == NoToken::Kind::scope_refused && wished) {
        without_wishes_ = true;
        return;
    }
    if (none.kind == NoToken::Kind::scope_refused) {
        return close(Reached::untrusted, none.words + "; the clinic has to permit '" + asked_scope() +
                                             "', or scope in the settings ask less");
    }
    if (none.kind != NoToken::Kind::client_refused) return close(Reached::untrusted, none.words);
    if (first_refusal_.empty()) first_refusal_ = none.words + clock_hint(answer, now) + way_out();
    if (++refused_signers_ < access_.signers.size()) {
        signer_ = (signer_ + 1) % access_.signers.size();
        return;
    }
    // With which key to begin next time is as open as before.
    signer_ = 0;
    refused_signers_ = 0;
    close(Reached::untrusted, std::exchange(first_refusal_, {}));
}

std::string TokenKeeper::way_out() const {
    return access_.method == Method::private_key_jwt
               ? "; the clinic needs what 'nightferry public-keys' prints, for the client_id in the settings"
               : "; the clinic needs to know this hub's certificate, for the client_id in the settings";
}

bool TokenKeeper::refused() {
    if (access_.method == Method::none || access_.method == Method::bearer) return false;
    token_.reset();
    return true;
}

void TokenKeeper::close(Reached reached, std::string words) {
    closed_ = sync::NoAnswer{reached, std::move(words)};
}

std::vector<Remark> TokenKeeper::remarks() const {
    std::vector<Remark> all;
    if (!missing_.empty()) {
        std::string words = "the clinic's token allows less than was asked for; missing:";
        for (const Missing& one : missing_)
            words += (&one == &missing_.front() ? " " : "; ") + in_words(one);
        all.push_back({LogEvent::scope_narrowed, words});
    }
    if (token_ && lacks_wishes_) {
        all.push_back(
            {LogEvent::orders_not_permitted,
             "the clinic's token server refuses tokens for reading orders, so they are got without; the "
             "clinic has to permit 'system/MedicationRequest.rs system/Medication.r', or orders in the "
             "settings be no"});
    }
    if (token_ && signer_ > 0) {
        all.push_back(
            {LogEvent::next_key_in_use,
             "the clinic no longer takes the current key but the next one; make it the current one in the "
             "settings"});
    }
    return all;
}

std::optional<Instant> TokenKeeper::expires() const {
    return token_ ? std::optional(token_->expires) : std::nullopt;
}

}  // namespace nightferry::access
