// Packed answers, as RFC 1952 describes them.
#include "daemon/net/gzip.hpp"

#include <zlib.h>

namespace nightferry::net {

namespace {

using testing::HasSubstr;

std::string packed(const std::string& text) {
    z_stream stream{};
    deflateInit2(&stream, 9, Z_DEFLATED, 15 + 16, 9, Z_DEFAULT_STRATEGY);
    std::string out(deflateBound(&stream, text.size()), '\0');
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
    stream.avail_in = static_cast<uInt>(text.size());
    stream.next_out = reinterpret_cast<Bytef*>(out.data());
    stream.avail_out = static_cast<uInt>(out.size());
    deflate(&stream, Z_FINISH);
    out.resize(stream.total_out);
    deflateEnd(&stream);
    return out;
}

std::string words(const std::string& bytes, std::size_t most = 1000) {
    const auto text = unpack_gzip(bytes, most);
    return text ? "" : text.error().detail;
}

TEST(GzipTest, WhatWasPackedComesOutWhole) {
    for (const std::size_t size : {0u, 1u, 1000u, 65'536u, 1'000'000u}) {
        std::string text;
        while (text.size() < size)
            text += std::to_string(text.size());
        EXPECT_EQ(unpack_gzip(packed(text), text.size()).value(), text) << size;
    }
}

// Made by gzip 1.12 of the text "ferry\n": the header of RFC 1952 section 2.3 with a modification time of 0.
TEST(GzipTest, FileOfTheUsualProgram) {
    const std::string file(
        "\x1f\x8b\x08\x00\x00\x00\x00\x00\x02\x03\x4b\x4b\x2d\x2a\xaa\xe4\x02\x00\x51\x4a\xd6\xb6\x06\x00\x00"
        "\x00",
        26);
    const auto text = unpack_gzip(file, 100);
    ASSERT_TRUE(text) << text.error().detail;
    EXPECT_EQ(*text, "ferry\n");
}

TEST(GzipTest, FewBytesThatStandForTooManyAreRefused) {
    const std::string bomb = packed(std::string(50'000'000, ' '));
    EXPECT_LT(bomb.size(), 60'000u);
    EXPECT_THAT(words(bomb, 16'000'000), HasSubstr("more than we take"));
    EXPECT_THAT(words(packed(std::string(1001, ' ')), 1000), HasSubstr("more than we take"));
    EXPECT_EQ(words(packed(std::string(1000, ' ')), 1000), "");
}

TEST(GzipTest, EveryCutAndEveryChangedByteIsNoticed) {
    const std::string whole = packed("what the clinic answered");
    for (std::size_t size = 0; size < whole.size(); ++size)
        EXPECT_THAT(words(whole.substr(0, size)), HasSubstr("cannot be unpacked")) << size;
    EXPECT_THAT(words(whole + "x"), HasSubstr("cannot be unpacked"));
    EXPECT_THAT(words("{\"resourceType\":\"Bundle\"}"), HasSubstr("cannot be unpacked"));
    for (std::size_t at = 10; at < whole.size(); ++at) {
        std::string changed = whole;
        changed[at] = static_cast<char>(changed[at] ^ 0x10);
        // Some bits are padding.
        const auto text = unpack_gzip(changed, 1000);
        EXPECT_TRUE(!text || *text == "what the clinic answered") << at;
    }
    EXPECT_EQ(unpack_gzip(whole + whole, 1000).value(), "what the clinic answeredwhat the clinic answered");
}

}  // namespace

}  // namespace nightferry::net
