// Digests and comparing.
#include "daemon/core/secrets.hpp"

#include <gtest/gtest.h>

namespace nightferry {
namespace {

TEST(SecretsTest, DigestsAreThoseOfThePublishedExamples) {
    // NIST, "Examples with Intermediate Values", SHA-256: "abc". The empty text: `printf '' | sha256sum`.
    EXPECT_EQ(sha256("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    EXPECT_EQ(sha256(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST(SecretsTest, HexHasTwoDigitsForEachByte) {
    using namespace std::string_view_literals;
    EXPECT_EQ(to_hex("\x00\x0f\xa0\xff"sv), "000fa0ff");
}

TEST(SecretsTest, OnlyTheSameTextIsTheSameSecret) {
    EXPECT_TRUE(is_same_secret("token", "token"));
    EXPECT_FALSE(is_same_secret("token", "tokem"));
    EXPECT_FALSE(is_same_secret("token", "Token"));
    EXPECT_FALSE(is_same_secret("token", "token "));
    EXPECT_FALSE(is_same_secret("token", ""));
}

}  // namespace
}  // namespace nightferry
