// Certificates that the hub makes for itself: what they say, by the openssl command.
#include "daemon/net/own_certificate.hpp"

#include "tests/daemon/net/certificates.hpp"
#include "tests/support/household.hpp"

namespace nightferry::net {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

class OwnCertificateTest : public testing::Test {
 protected:
    static ServerIdentity made(std::vector<std::string> names, int days = 397) {
        return make_certificate({std::move(names), test::test_now(), std::chrono::days{days}}).value();
    }
    // What `openssl` says of the text.
    std::string openssl(const std::string& text, const std::string& arguments) {
        test::write_file(folder_ / "in.pem", text);
        const std::string command = "openssl " + arguments + " -in '" + (folder_ / "in.pem").string() +
                                    "' > '" + (folder_ / "out").string() + "' 2>&1";
        EXPECT_EQ(std::system(command.c_str()), 0) << test::read_file(folder_ / "out");
        return test::read_file(folder_ / "out");
    }

    test::TemporaryFolder folder_;
};

TEST_F(OwnCertificateTest, ItIsForItsNamesAndForAServerOnly) {
    const ServerIdentity identity = made({"Hub.Home.Arpa", "192.168.1.10", "fd00::10"});
    const std::string told = openssl(identity.certificate, "x509 -noout -text");
    EXPECT_THAT(
        told,
        AllOf(HasSubstr("Version: 3 (0x2)"), HasSubstr("ASN1 OID: prime256v1"),
              HasSubstr("Signature Algorithm: ecdsa-with-SHA256"), HasSubstr("Issuer: CN = Hub.Home.Arpa"),
              HasSubstr("DNS:hub.home.arpa, IP Address:192.168.1.10, IP Address:FD00:0:0:0:0:0:0:10"),
              HasSubstr("CA:FALSE"), HasSubstr("Digital Signature"),
              HasSubstr("TLS Web Server Authentication"), Not(HasSubstr("Client"))));
    EXPECT_THAT(names_in(identity.certificate), ElementsAre("hub.home.arpa", "192.168.1.10", "fd00::10"));
}

TEST_F(OwnCertificateTest, ItLastsAsLongAsWasAsked) {
    const std::string told = openssl(made({"hub"}, 30).certificate, "x509 -noout -dates");
    EXPECT_EQ(told, "notBefore=Nov  2 12:00:00 2026 GMT\nnotAfter=Dec  2 12:00:00 2026 GMT\n");
    EXPECT_EQ(end_of_validity(made({"hub"}, 30).certificate), test::test_now() + std::chrono::days{30});
}

TEST_F(OwnCertificateTest, CertificateAndKeyBelongTogetherAndEachIsAnother) {
    const ServerIdentity one = made({"hub.home.arpa"});
    const ServerIdentity other = made({"hub.home.arpa"});
    EXPECT_EQ(openssl(one.certificate, "x509 -noout -pubkey"), openssl(one.key, "pkey -pubout"));
    EXPECT_NE(one.key, other.key);
    EXPECT_NE(openssl(one.certificate, "x509 -noout -serial"),
              openssl(other.certificate, "x509 -noout -serial"));
    EXPECT_TRUE(make_tls_context(one));
    EXPECT_FALSE(make_tls_context(ServerIdentity{one.certificate, other.key}));
    EXPECT_FALSE(make_tls_context(ServerIdentity{"no certificate", one.key}));
}

TEST_F(OwnCertificateTest, FingerprintIsTheOneThatOthersCompute) {
    const std::string pem = made({"hub"}).certificate;
    EXPECT_EQ("sha256 Fingerprint=" + *fingerprint_of(pem) + "\n",
              openssl(pem, "x509 -noout -fingerprint -sha256"));
    EXPECT_EQ(fingerprint_of("nothing"), std::nullopt);
    EXPECT_THAT(names_in("nothing"), IsEmpty());
}

TEST_F(OwnCertificateTest, WhatIsNoNameIsRefused) {
    for (const char* name : {"", "a b", "hub_1", "-hub", "hub..arpa", "hub,DNS:other", "192.168.1.10:8443",
                             "https://hub", "*.home.arpa"}) {
        const auto refused = make_certificate({{"hub", name}, test::test_now(), std::chrono::days{1}});
        ASSERT_FALSE(refused) << name;
        EXPECT_EQ(refused.error().code, Errc::bad_input);
    }
}

}  // namespace
}  // namespace nightferry::net
