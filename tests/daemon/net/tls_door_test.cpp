// Whom a TLS connection trusts, and what it remembers.
#include "daemon/net/tls_door.hpp"

#include "tests/daemon/net/clinic_caller.hpp"
#include "tests/daemon/net/scripted_server.hpp"

namespace nightferry::net {

namespace {

using testing::HasSubstr;
using testing::StartsWith;
using namespace std::chrono_literals;

class TlsDoorTest : public HttpsClientTest {
 protected:
    // Of a certificate's public key, by the usual commands (RFC 7469 appendix A shows them).
    static std::string pin(const std::string& name) {
        const auto out = certificates_->certificate(name).string() + ".pin";
        const std::string command =
            "openssl x509 -in '" + certificates_->certificate(name).string() +
            "' -noout -pubkey | openssl pkey -pubin -outform der | openssl dgst -sha256 "
            "-binary | openssl enc -base64 > '" +
            out + "'";
        EXPECT_EQ(std::system(command.c_str()), 0);
        std::string text = test::read_file(out);
        text.pop_back();
        return text;
    }
    std::string ask_with_pins(const std::vector<std::string>& pins) {
        std::size_t handled = 0;
        const auto server = serve([&](const HttpRequest& request) {
            ++handled;
            return empty(request);
        });
        Route way = route(server->port());
        way.tls.pins = pins;
        const std::string told = no_answer(ask(*client(way)));
        EXPECT_EQ(handled, told == "answered 200" ? 1u : 0u);
        return told;
    }
};

TEST_F(TlsDoorTest, PinnedKeyOfTheServerOrOfItsAuthorityIsTaken) {
    EXPECT_EQ(ask_with_pins({pin("good")}), "answered 200");
    EXPECT_EQ(ask_with_pins({pin("ca")}), "answered 200");
    EXPECT_EQ(ask_with_pins({pin("stranger"), pin("good")}), "answered 200") << "one of them is enough";
}

TEST_F(TlsDoorTest, OtherKeysAreNotTakenThoughTheirAuthorityIs) {
    EXPECT_EQ(ask_with_pins({pin("stranger")}),
              "untrusted: no certificate of 127.0.0.1 has one of the pinned keys; ask the clinic whether it "
              "changed "
              "them");
}

// RFC 8446 section 2.2. The server keeps no state; its tickets do.
TEST_F(TlsDoorTest, SecondConnectionResumesTheFirstOneAndStaysPinned) {
    const auto server = serve(empty);
    Route way = route(server->port());
    way.tls.pins = {pin("good")};
    const auto one = client(way);
    for (int connection = 0; connection < 3; ++connection) {
        EXPECT_EQ(no_answer(ask(*one)), "answered 200");
        EXPECT_EQ(one->was_resumed(), connection > 0) << connection;
        EXPECT_TRUE(one->trust_ends());
        one->rest();
    }
}

TEST_F(TlsDoorTest, EndOfTrustIsThatOfTheFirstCertificateToEnd) {
    const auto server = serve(empty);
    const auto one = client(server->port());
    EXPECT_EQ(one->trust_ends(), std::nullopt) << "nothing is known before it was asked";
    ask(*one);
    ASSERT_TRUE(one->trust_ends());
    const auto left = *one->trust_ends() - std::chrono::system_clock::now();
    EXPECT_GT(left, 23h);
    EXPECT_LE(left, 24h);
}

TEST_F(TlsDoorTest, CertificateThatIsOverIsToldWithItsDateAndOurs) {
    const auto server = serve(empty, "expired");
    EXPECT_THAT(
        no_answer(ask(*client(server->port()))),
        testing::AllOf(StartsWith("untrusted: the certificate of 127.0.0.1 is not trusted: certificate has "
                                  "expired; it is valid until 20"),
                       HasSubstr("and this hub's clock says 20")));
}

TEST_F(TlsDoorTest, OwnCertificateThatDoesNotServeIsASetupError) {
    Route way = route(443);
    way.tls.certificate = "no certificate";
    const auto refused = HttpsClient::make(loop_, way);
    ASSERT_FALSE(refused);
    EXPECT_THAT(refused.error().detail, StartsWith("this hub's own certificate or its key cannot be used: "));
    way.tls.certificate = test::read_file(certificates_->certificate("good"));
    way.tls.key = test::read_file(certificates_->authority_key());
    EXPECT_FALSE(HttpsClient::make(loop_, way)) << "it is the key of another";
    way.tls.key = test::read_file(certificates_->server_key());
    EXPECT_TRUE(HttpsClient::make(loop_, way));
    EXPECT_TRUE(end_of_validity(way.tls.certificate));
    EXPECT_FALSE(end_of_validity("nothing"));
}

}  // namespace

}  // namespace nightferry::net
