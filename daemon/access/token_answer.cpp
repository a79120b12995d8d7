#include "daemon/access/token_answer.hpp"

#include <algorithm>
#include <charconv>

#include "daemon/core/words.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::access {

namespace json = fhir::json;

namespace {

constexpr std::chrono::seconds usual_life{300};
constexpr std::chrono::seconds longest_life{24 * 3600};

bool equal_without_case(std::string_view one, std::string_view other) {
    return std::equal(one.begin(), one.end(), other.begin(), other.end(), [](char a, char b) {
        return std::tolower(static_cast<unsigned char>(a)) == std::tolower(static_cast<unsigned char>(b));
    });
}

std::chrono::seconds life_of(const json::Value& root) {
    const json::Value* written = root.find("expires_in");
    if (written == nullptr) return usual_life;
    // Some servers write it as a text.
    const std::string_view text = written->text();
    double seconds = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), seconds);
    if (failure != std::errc() || end != text.data() + text.size() || !(seconds >= 0)) return usual_life;
    return std::min(std::chrono::seconds(static_cast<std::int64_t>(std::min(seconds, 1e9))), longest_life);
}

NoToken refusal(const HttpAnswer& answer, const json::Value& root) {
    const std::string_view code = root.string_at("error");
    const std::string_view more = root.string_at("error_description");
    std::string words = "the token server refused: " + in_quotes(code);
    if (!more.empty()) words += ", " + in_quotes(more);
    using Kind = NoToken::Kind;
    if (answer.status >= 500 || code == "temporarily_unavailable" || code == "server_error")
        return {Kind::for_now, words};
    if (code == "invalid_client" || code == "unauthorized_client" || code == "invalid_grant")
        return {Kind::client_refused, words};
    if (code == "unsupported_grant_type")
        words += "; the clinic's IT has to allow this hub the grant client_credentials";
    return {code == "invalid_scope" ? Kind::scope_refused : Kind::something_else, words};
}

}  // namespace

bool can_be_sent(std::string_view token) {
    return !token.empty() &&
           std::all_of(token.begin(), token.end(), [](char one) { return one > ' ' && one < 127; });
}

std::variant<Token, NoToken> read_token_answer(const HttpAnswer& answer, Instant now) {
    const std::string status = "HTTP " + std::to_string(answer.status);
    const auto document = json::read(answer.body);
    const bool is_object = document && document->root().is(json::Kind::object);
    if (is_object && !document->root().string_at("error").empty()) return refusal(answer, document->root());
    if (answer.status == 408 || answer.status == 429 || answer.status >= 500)
        return NoToken{NoToken::Kind::for_now, "the token server cannot answer now: " + status};
    if (answer.status == 401 || answer.status == 403)
        return NoToken{NoToken::Kind::client_refused, "the token server refused this hub: " + status};
    if (answer.status >= 300 && answer.status < 400) {
        return NoToken{NoToken::Kind::something_else,
                       "the token server sends us elsewhere (" + status +
                           "), which is never followed; ask the clinic for its token_endpoint"};
    }
    if (answer.status != 200 || !is_object) {
        return NoToken{NoToken::Kind::something_else, "what answers for a token server is none: " + status +
                                                          (is_object ? "" : ", no JSON") +
                                                          "; ask the clinic for its token_endpoint"};
    }
    const json::Value& root = document->root();
    const std::string_view value = root.string_at("access_token");
    if (value.empty())
        return NoToken{NoToken::Kind::something_else, "the token server's answer holds no token"};
    if (!can_be_sent(value)) {
        return NoToken{NoToken::Kind::something_else,
                       "the token server's answer holds a token that cannot be sent: something in it is no "
                       "letter, digit or sign"};
    }
    if (!equal_without_case(root.string_at("token_type"), "bearer")) {
        return NoToken{NoToken::Kind::something_else,
                       "the token server gave a token of another kind than bearer: " +
                           in_quotes(root.string_at("token_type"))};
    }
    Token token{std::string(value), now + life_of(root), std::nullopt};
    if (const json::Value* scope = root.find("scope")) token.scope = std::string(scope->text());
    return token;
}

}  // namespace nightferry::access
