// Getting a token, keeping it, and what stands in the way.
#include "daemon/access/token_keeper.hpp"

#include "daemon/access/authorized_clinic.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::access {

namespace {

using namespace std::chrono_literals;
using sync::NoAnswer;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;
using Reached = NoAnswer::Reached;

class CountingRandom final : public Random {
 public:
    std::uint64_t below(std::uint64_t bound) override { return bound == 0 ? 0 : ++drawn_ / 3 % bound; }

 private:
    std::uint64_t drawn_ = 0;
};

const SigningKey& rsa() {
    static const SigningKey key = SigningKey::make(Algorithm::rs384);
    return key;
}

const SigningKey& ec() {
    static const SigningKey key = SigningKey::make(Algorithm::es384);
    return key;
}

Access signing(std::vector<Signer> signers) {
    Access access;
    access.method = Method::private_key_jwt;
    access.client_id = "hub-7";
    access.signers = std::move(signers);
    return access;
}

HttpAnswer told(const std::string& body, int status = 200, HttpHeaders headers = {}) {
    return {status, std::move(headers), body};
}

constexpr char configuration[] =
    R"({"token_endpoint":"https://login.example/token","grant_types_supported":["client_credentials"],)"
    R"("capabilities":["permission-v2"]})";

HttpAnswer token(const std::string& value, int seconds = 300, const std::string& scope = {}) {
    return told("{\"access_token\":\"" + value + "\",\"token_type\":\"bearer\",\"expires_in\":" +
                std::to_string(seconds) + (scope.empty() ? "" : ",\"scope\":\"" + scope + "\"") + "}");
}

// A part of a compact JWS, read.
fhir::json::Document part(const std::string& jws, int which) {
    std::string text = jws;
    for (int i = 0; i < which; ++i)
        text.erase(0, text.find('.') + 1);
    text.erase(text.find('.'));
    std::string bytes;
    int bits = 0;
    unsigned value = 0;
    for (const char letter : text) {
        constexpr std::string_view letters =
            "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
        value = (value << 6U | static_cast<unsigned>(letters.find(letter))) & 0xffffffU;
        bits += 6;
        if (bits >= 8) bytes += static_cast<char>(value >> (bits -= 8) & 0xffU);
    }
    return std::move(fhir::json::read(bytes).value());
}

std::string field(const std::string& body, const std::string& name) {
    return query_value("?" + body, name).value_or("");
}

class TokenKeeperTest : public testing::Test {
 protected:
    TokenKeeper keeper(Access access) { return {std::move(access), "https://clinic.example/fhir", random_}; }
    TokenKeeper usual() { return keeper(signing({{rsa(), Algorithm::rs384, "key-1"}})); }
    // Up to the question for a token.
    TokenKeeper::Ask ask(TokenKeeper& one) {
        auto step = one.next(now_);
        if (std::holds_alternative<TokenKeeper::Discover>(step)) {
            one.discovered(told(configuration));
            step = one.next(now_);
        }
        EXPECT_TRUE(std::holds_alternative<TokenKeeper::Ask>(step));
        return std::holds_alternative<TokenKeeper::Ask>(step) ? std::get<TokenKeeper::Ask>(step)
                                                              : TokenKeeper::Ask{};
    }
    std::string authorization(TokenKeeper& one) {
        const auto step = one.next(now_);
        const auto* ready = std::get_if<TokenKeeper::Ready>(&step);
        return ready == nullptr ? "not ready" : ready->authorization;
    }
    NoAnswer closed(TokenKeeper& one) {
        const auto step = one.next(now_);
        const auto* none = std::get_if<NoAnswer>(&step);
        return none == nullptr ? NoAnswer{Reached::perhaps, "open"} : *none;
    }

    CountingRandom random_;
    Instant now_{std::chrono::sys_days{std::chrono::year{2026} / 11 / 2} + 12h};
};

TEST_F(TokenKeeperTest, WithoutAMethodNothingIsSent) {
    auto open = keeper({});
    EXPECT_EQ(authorization(open), "");
    EXPECT_FALSE(open.refused());
}

TEST_F(TokenKeeperTest, FixedTokenIsSentAndNotRenewed) {
    Access access;
    access.method = Method::bearer;
    access.bearer = "given-once";
    auto fixed = keeper(access);
    EXPECT_EQ(authorization(fixed), "Bearer given-once");
    EXPECT_FALSE(fixed.refused()) << "there is no other";
}

// RFC 7523 section 3 and https://hl7.org/fhir/smart-app-launch/STU2/backend-services.html.
TEST_F(TokenKeeperTest, AssertionHasExactlyTheClaimsThatSmartWants) {
    auto one = usual();
    const auto asked = ask(one);
    EXPECT_EQ(asked.endpoint, "https://login.example/token");
    EXPECT_EQ(asked.request.method, "POST");
    EXPECT_EQ(asked.request.target, "/token");
    EXPECT_EQ(header(asked.request.headers, "content-type"), "application/x-www-form-urlencoded");
    const std::string& body = asked.request.body;
    EXPECT_EQ(field(body, "grant_type"), "client_credentials");
    EXPECT_EQ(field(body, "client_assertion_type"), "urn:ietf:params:oauth:client-assertion-type:jwt-bearer");
    EXPECT_EQ(field(body, "scope"), scopes_for(usual_needs(), ScopeForm::v2));
    EXPECT_EQ(field(body, "client_id"), "") << "the assertion says it";
    const std::string assertion = field(body, "client_assertion");
    const auto jose_header = part(assertion, 0);
    EXPECT_EQ(jose_header.root().size(), 3u);
    EXPECT_EQ(jose_header.root().string_at("alg"), "RS384");
    EXPECT_EQ(jose_header.root().string_at("kid"), "key-1");
    EXPECT_EQ(jose_header.root().string_at("typ"), "JWT");
    const auto claims = part(assertion, 1);
    EXPECT_EQ(claims.root().size(), 5u);
    EXPECT_EQ(claims.root().string_at("iss"), "hub-7");
    EXPECT_EQ(claims.root().string_at("sub"), "hub-7");
    EXPECT_EQ(claims.root().string_at("aud"), "https://login.example/token");
    const auto seconds = std::chrono::floor<std::chrono::seconds>(now_.time_since_epoch()).count();
    EXPECT_EQ(claims.root().find("exp")->text(), std::to_string(seconds + 240));
    EXPECT_THAT(std::string(claims.root().string_at("jti")), testing::SizeIs(32));
}

TEST_F(TokenKeeperTest, NoAssertionIsSentTwice) {
    auto one = usual();
    const std::string first = field(ask(one).request.body, "client_assertion");
    one.answered(told("", 503), now_);
    closed(one);
    const std::string second = field(ask(one).request.body, "client_assertion");
    EXPECT_NE(part(first, 1).root().string_at("jti"), part(second, 1).root().string_at("jti"));
}

TEST_F(TokenKeeperTest, TokenIsKeptUntilShortlyBeforeItRunsOut) {
    auto one = usual();
    ask(one);
    one.answered(token("t1", 300), now_);
    EXPECT_EQ(authorization(one), "Bearer t1");
    now_ += 269s;
    EXPECT_EQ(authorization(one), "Bearer t1");
    now_ += 1s;
    EXPECT_EQ(field(ask(one).request.body, "grant_type"), "client_credentials");
}

TEST_F(TokenKeeperTest, TokenThatLivesForNoTimeServesOneRequest) {
    auto one = usual();
    ask(one);
    one.answered(token("t1", 0), now_);
    EXPECT_EQ(authorization(one), "Bearer t1");
    EXPECT_TRUE(std::holds_alternative<TokenKeeper::Ask>(one.next(now_)));
}

TEST_F(TokenKeeperTest, RefusedTokenIsThrownAway) {
    auto one = usual();
    ask(one);
    one.answered(token("t1"), now_);
    EXPECT_EQ(authorization(one), "Bearer t1");
    EXPECT_TRUE(one.refused());
    ask(one);
    one.answered(token("t2"), now_);
    EXPECT_EQ(authorization(one), "Bearer t2");
}

TEST_F(TokenKeeperTest, ScopesAreAskedForInTheFormThatTheServerKnows) {
    auto one = usual();
    one.next(now_);
    one.discovered(
        told(R"({"token_endpoint":"https://login.example/token","capabilities":["permission-v1"]})"));
    EXPECT_EQ(field(ask(one).request.body, "scope"), scopes_for(usual_needs(), ScopeForm::v1));
}

// RFC 6749 section 5.2: invalid_scope. What is only wished for is done without, and asked for again with the
// next token.
TEST_F(TokenKeeperTest, WishThatIsRefusedDoesNotKeepTheHubOut) {
    Access access = signing({{rsa(), Algorithm::rs384, "key-1"}});
    access.token_endpoint = "https://login.example/token";
    access.wishes = order_needs();
    auto one = keeper(access);
    EXPECT_THAT(field(ask(one).request.body, "scope"),
                HasSubstr("system/MedicationRequest.rs system/Medication.r"));
    one.answered(HttpAnswer{400, {}, R"({"error":"invalid_scope"})"}, now_);
    EXPECT_EQ(field(ask(one).request.body, "scope"), scopes_for(usual_needs(), ScopeForm::v2));
    one.answered(token("t1"), now_);
    EXPECT_EQ(authorization(one), "Bearer t1");
    ASSERT_EQ(one.remarks().size(), 1U);
    EXPECT_EQ(one.remarks()[0].event, LogEvent::orders_not_permitted);
    EXPECT_TRUE(one.refused());
    EXPECT_THAT(field(ask(one).request.body, "scope"), HasSubstr("MedicationRequest"));
    one.answered(token("t2"), now_);
    EXPECT_THAT(one.remarks(), IsEmpty());
}

TEST_F(TokenKeeperTest, SettingsSayMoreThanTheServer) {
    Access access = signing({{rsa(), Algorithm::rs384, "key-1"}});
    access.token_endpoint = "https://other.example/oauth/token?tenant=4";
    access.scope = "system/*.*";
    access.algorithm = Algorithm::rs256;
    auto one = keeper(access);
    const auto asked = ask(one);
    EXPECT_EQ(asked.request.target, "/oauth/token?tenant=4");
    EXPECT_EQ(field(asked.request.body, "scope"), "system/*.*");
    const std::string assertion = field(asked.request.body, "client_assertion");
    EXPECT_EQ(part(assertion, 0).root().string_at("alg"), "RS256");
    EXPECT_EQ(part(assertion, 1).root().string_at("aud"), access.token_endpoint);
}

TEST_F(TokenKeeperTest, AlgorithmIsOneThatTheServerTakes) {
    const auto algorithm = [&](const Signer& signer, const std::string& taken) {
        auto one = keeper(signing({signer}));
        one.next(now_);
        one.discovered(
            told("{\"token_endpoint\":\"https://login.example/token\","
                 "\"token_endpoint_auth_signing_alg_values_supported\":[" +
                 taken + "]}"));
        return std::string(part(field(ask(one).request.body, "client_assertion"), 0).root().string_at("alg"));
    };
    EXPECT_EQ(algorithm({rsa(), Algorithm::rs384, "a"}, "\"RS384\",\"RS256\""), "RS384");
    EXPECT_EQ(algorithm({rsa(), Algorithm::rs384, "a"}, "\"RS256\",\"ES384\""), "RS256");
    EXPECT_EQ(algorithm({ec(), Algorithm::es384, "a"}, "\"RS256\",\"ES384\""), "ES384");
    EXPECT_EQ(algorithm({ec(), Algorithm::es384, "a"}, "\"RS256\""), "ES384") << "it has no other";
}

// RFC 8705 section 2: the client id says who it is, the certificate proves it.
TEST_F(TokenKeeperTest, ClientWithACertificateSignsNothing) {
    Access access;
    access.method = Method::tls_client_auth;
    access.client_id = "hub 7";
    auto one = keeper(access);
    one.next(now_);
    one.discovered(told(R"({"token_endpoint":"https://login.example/token",
                            "mtls_endpoint_aliases":{"token_endpoint":"https://mtls.example/token"}})"));
    const auto asked = ask(one);
    EXPECT_EQ(asked.endpoint, "https://mtls.example/token");
    EXPECT_EQ(field(asked.request.body, "client_id"), "hub 7");
    EXPECT_EQ(field(asked.request.body, "client_assertion"), "");
}

TEST_F(TokenKeeperTest, TokenIsNotAskedForWhereItCouldBeRead) {
    for (const char* endpoint : {"http://login.example/token", "http://localhost:8080/token"}) {
        auto one = usual();
        one.next(now_);
        one.discovered(told(std::string("{\"token_endpoint\":\"") + endpoint + "\"}"));
        const auto none = closed(one);
        EXPECT_EQ(none.reached, Reached::untrusted) << endpoint;
        EXPECT_THAT(none.words, HasSubstr("is none that a token may be asked for at"));
        EXPECT_TRUE(std::holds_alternative<TokenKeeper::Discover>(one.next(now_))) << "it may be mended";
    }
    TokenKeeper local(signing({{rsa(), Algorithm::rs384, "key-1"}}), "http://localhost:8080/fhir", random_);
    local.next(now_);
    local.discovered(told(R"({"token_endpoint":"http://localhost:8080/token"})"));
    EXPECT_TRUE(std::holds_alternative<TokenKeeper::Ask>(local.next(now_))) << "all of it is on this machine";
}

// The assertion is for one server, which may compare its address letter by letter.
TEST_F(TokenKeeperTest, AddressOfTheTokenServerIsNamedAsItWasWritten) {
    auto one = usual();
    one.next(now_);
    one.discovered(told(R"({"token_endpoint":"https://Login.example:443/token"})"));
    const auto asked = ask(one);
    EXPECT_EQ(part(field(asked.request.body, "client_assertion"), 1).root().string_at("aud"),
              "https://Login.example:443/token");
}

TEST_F(TokenKeeperTest, WhereNoTokenWasGotTheServerIsAskedAgainWhereToGetOne) {
    for (const sync::Reply& reply : {sync::Reply{NoAnswer{Reached::no, "no route"}},
                                     sync::Reply{told("", 503)}, sync::Reply{told("", 404)}}) {
        auto one = usual();
        ask(one);
        one.answered(reply, now_);
        closed(one);
        EXPECT_TRUE(std::holds_alternative<TokenKeeper::Discover>(one.next(now_)));
    }
}

TEST_F(TokenKeeperTest, ServerThatSaysNothingOfTokensStopsAndOneThatIsAwayDoesNot) {
    struct Row {
        sync::Reply reply;
        Reached reached;
        const char* words;
    };
    const std::vector<Row> rows{
        {told("", 404), Reached::untrusted, "HTTP 404"},
        {told("<html>", 200), Reached::untrusted, "is no JSON object"},
        {told("{}", 200), Reached::untrusted, "names no token endpoint"},
        {told("", 301), Reached::untrusted, "HTTP 301"},
        {told("", 503), Reached::no, "HTTP 503"},
        {NoAnswer{Reached::no, "no route"}, Reached::no, "no route"},
        {NoAnswer{Reached::perhaps, "it broke"}, Reached::no, "it broke"},
        {NoAnswer{Reached::untrusted, "a stranger"}, Reached::untrusted, "a stranger"}};
    for (const Row& row : rows) {
        auto one = usual();
        one.next(now_);
        one.discovered(row.reply);
        const auto none = closed(one);
        EXPECT_EQ(none.reached, row.reached) << row.words;
        EXPECT_THAT(none.words, StartsWith("how to get a token could not be learned"));
        EXPECT_THAT(none.words, HasSubstr(row.words));
    }
}

TEST_F(TokenKeeperTest, TokenServerThatRefusesStopsAndOneThatIsAwayDoesNot) {
    struct Row {
        sync::Reply reply;
        Reached reached;
        const char* words;
    };
    const std::vector<Row> rows{
        {told("{\"error\":\"invalid_client\"}", 401), Reached::untrusted, "'invalid_client'"},
        {told("{\"error\":\"invalid_scope\"}", 400), Reached::untrusted, "'invalid_scope'"},
        {told("<html>", 200), Reached::untrusted, "is none: HTTP 200"},
        {told("", 503), Reached::no, "HTTP 503"},
        {NoAnswer{Reached::perhaps, "it broke"}, Reached::no, "no token could be got: it broke"},
        {NoAnswer{Reached::untrusted, "a stranger"}, Reached::untrusted,
         "no token could be got: a stranger"}};
    for (const Row& row : rows) {
        auto one = usual();
        ask(one);
        one.answered(row.reply, now_);
        const auto none = closed(one);
        EXPECT_EQ(none.reached, row.reached) << row.words;
        EXPECT_THAT(none.words, HasSubstr(row.words));
    }
}

TEST_F(TokenKeeperTest, ClockThatMayBeWhyIsNamed) {
    auto one = usual();
    ask(one);
    // now_ is Mon, 02 Nov 2026 12:00:00 GMT.
    one.answered(told("{\"error\":\"invalid_client\"}", 401, {{"Date", "Mon, 02 Nov 2026 12:10:30 GMT"}}),
                 now_);
    EXPECT_THAT(closed(one).words, HasSubstr("this hub's clock is 10 min behind the token server's"));
    ask(one);
    one.answered(told("{\"error\":\"invalid_client\"}", 401, {{"Date", "Mon, 02 Nov 2026 12:00:30 GMT"}}),
                 now_);
    EXPECT_THAT(closed(one).words, testing::Not(HasSubstr("clock")));
}

TEST_F(TokenKeeperTest, WhatATokenDoesNotAllowIsRemarkedOn) {
    auto one = usual();
    ask(one);
    one.answered(
        token("t1", 300, "system/MedicationAdministration.crus system/Observation.crus system/Patient.rs"),
        now_);
    EXPECT_EQ(authorization(one), "Bearer t1");
    EXPECT_THAT(one.denied(), ElementsAre("Provenance"));
    ASSERT_THAT(one.remarks(), testing::SizeIs(1));
    EXPECT_THAT(one.remarks()[0].words, HasSubstr("missing: create and update Provenance"));
    now_ += 5min;
    ask(one);
    one.answered(token("t2"), now_);
    EXPECT_THAT(one.denied(), IsEmpty());
    EXPECT_THAT(one.remarks(), IsEmpty());
}

// Provenance goes under an id of the hub's, which is an update.
TEST_F(TokenKeeperTest, ProvenanceNeedsTheUpdate) {
    for (const auto& [letters, is_denied] : {std::pair{"c", true}, std::pair{"u", false}}) {
        auto one = usual();
        ask(one);
        one.answered(token("t1", 300,
                           std::string("system/MedicationAdministration.crus system/Observation.crus "
                                       "system/Patient.rs system/Provenance.") +
                               letters),
                     now_);
        EXPECT_EQ(one.denied().empty(), !is_denied) << letters;
    }
}

TEST_F(TokenKeeperTest, ScopeWithoutResourcesSaysNothingOfThem) {
    for (const char* scope : {"openid profile", "fhir"}) {
        auto one = usual();
        ask(one);
        one.answered(token("t1", 300, scope), now_);
        EXPECT_EQ(authorization(one), "Bearer t1") << scope;
        EXPECT_THAT(one.remarks(), IsEmpty());
    }
}

// Of a token that was refused nothing is left, not even how long it would have lived.
TEST_F(TokenKeeperTest, OldTokenIsNotTakenForTheOneThatWasRefused) {
    auto one = usual();
    ask(one);
    one.answered(token("t1", 300), now_);
    EXPECT_EQ(authorization(one), "Bearer t1");
    now_ += 10min;
    ask(one);
    one.answered(token("t2", 3600, "system/Observation.rs"), now_);
    closed(one);
    EXPECT_NE(authorization(one), "Bearer t1");
}

TEST_F(TokenKeeperTest, TokenThatAllowsNoDosesIsOfNoUse) {
    auto one = usual();
    ask(one);
    one.answered(token("t1", 300, "system/MedicationAdministration.rs system/Observation.crus"), now_);
    const auto none = closed(one);
    EXPECT_EQ(none.reached, Reached::untrusted);
    EXPECT_THAT(none.words, StartsWith("the clinic's token does not allow this hub to create and update "
                                       "MedicationAdministration"));
    EXPECT_TRUE(std::holds_alternative<TokenKeeper::Ask>(one.next(now_))) << "it may be mended";
}

TEST_F(TokenKeeperTest, NextKeyIsTriedWhereTheCurrentOneIsNotKnownAnyMore) {
    auto one = keeper(signing({{rsa(), Algorithm::rs384, "old"}, {ec(), Algorithm::es384, "new"}}));
    EXPECT_EQ(part(field(ask(one).request.body, "client_assertion"), 0).root().string_at("kid"), "old");
    one.answered(told("{\"error\":\"invalid_client\"}", 401), now_);
    // The address may be another one by now as well.
    EXPECT_TRUE(std::holds_alternative<TokenKeeper::Discover>(one.next(now_)));
    const auto asked = ask(one);
    EXPECT_EQ(part(field(asked.request.body, "client_assertion"), 0).root().string_at("kid"), "new");
    one.answered(token("t1", 300), now_);
    EXPECT_EQ(authorization(one), "Bearer t1");
    ASSERT_THAT(one.remarks(), testing::SizeIs(1));
    EXPECT_EQ(one.remarks()[0].event, LogEvent::next_key_in_use);
    now_ += 1h;
    EXPECT_EQ(part(field(ask(one).request.body, "client_assertion"), 0).root().string_at("kid"), "new")
        << "it stays with what works";
}

TEST_F(TokenKeeperTest, WhereNeitherKeyIsKnownItIsToldOfTheCurrentOne) {
    auto one = keeper(signing({{rsa(), Algorithm::rs384, "old"}, {ec(), Algorithm::es384, "new"}}));
    ask(one);
    one.answered(told("{\"error\":\"invalid_client\",\"error_description\":\"first\"}", 401), now_);
    ask(one);
    one.answered(told("{\"error\":\"invalid_client\",\"error_description\":\"second\"}", 401), now_);
    EXPECT_THAT(closed(one).words, HasSubstr("'first'"));
    EXPECT_EQ(part(field(ask(one).request.body, "client_assertion"), 0).root().string_at("kid"), "old");
}

}  // namespace

}  // namespace nightferry::access
