// Files with secrets, and what is wrong with some.
#include "daemon/core/secret_file.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <fstream>

#include "tests/support/files.hpp"

namespace nightferry {

namespace {

using testing::HasSubstr;

class SecretFileTest : public testing::Test {
 protected:
    std::filesystem::path file(const std::string& content, mode_t rights = 0600) {
        const auto path = folder_.path() / ("secret" + std::to_string(++count_));
        std::ofstream(path) << content;
        ::chmod(path.c_str(), rights);
        return path;
    }
    static std::string words(const std::filesystem::path& path) {
        const auto read = read_secret(path);
        return read ? "" : read.error().detail;
    }
    const std::filesystem::path& folder() const { return folder_.path(); }

 private:
    test::TemporaryFolder folder_;
    int count_ = 0;
};

TEST_F(SecretFileTest, WholeFileIsRead) {
    EXPECT_EQ(read_secret(file("two\nlines\n")).value(), "two\nlines\n");
    EXPECT_EQ(read_secret(file("for the group", 0640)).value(), "for the group");
    EXPECT_EQ(read_secret(file("")).value(), "");
}

TEST_F(SecretFileTest, LineIsReadWithoutItsEnd) {
    EXPECT_EQ(read_secret_line(file("token\n")).value(), "token");
    EXPECT_EQ(read_secret_line(file("token\r\n")).value(), "token");
    EXPECT_THAT(read_secret_line(file("\n")).error().detail, HasSubstr("is empty"));
    EXPECT_THAT(read_secret_line(file("one\ntwo\n")).error().detail, HasSubstr("several lines"));
}

TEST_F(SecretFileTest, WhatOthersCanReadOrChangeIsNoSecret) {
    EXPECT_THAT(words(file("x", 0644)), HasSubstr("can be read by everybody on this machine; chmod 0600"));
    EXPECT_THAT(words(file("x", 0604)), HasSubstr("can be read by everybody"));
    EXPECT_THAT(words(file("x", 0602)), HasSubstr("everybody"));
    EXPECT_THAT(words(file("x", 0660)), HasSubstr("can be changed by its group"));
}

TEST_F(SecretFileTest, WhatMayBeKnownMayLieOpen) {
    EXPECT_EQ(read_beside_secrets(file("certificate", 0644)).value(), "certificate");
    EXPECT_THAT(read_beside_secrets(folder()).error().detail, HasSubstr("is no plain file"));
}

TEST_F(SecretFileTest, WhatIsNoFileIsRefused) {
    EXPECT_THAT(words(folder() / "missing"), HasSubstr("cannot be read: No such file"));
    EXPECT_THAT(words(folder()), HasSubstr("is no plain file"));
    const auto pipe = folder() / "pipe";
    ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
    EXPECT_THAT(words(pipe), HasSubstr("is no plain file")) << "and nobody waits for a writer";
    EXPECT_THAT(words(file(std::string(70'000, 'x'))), HasSubstr("too large; at most 64 KiB"));
}

TEST_F(SecretFileTest, WhatTheServiceManagerHandsOverGoesByItsName) {
    const auto path = file("handed over", 0400);
    ::unsetenv("CREDENTIALS_DIRECTORY");
    EXPECT_THAT(words("credential:" + path.filename().string()), HasSubstr("was not handed over"));
    ::setenv("CREDENTIALS_DIRECTORY", folder().c_str(), 1);
    EXPECT_EQ(read_secret("credential:" + path.filename().string()).value(), "handed over");
    EXPECT_THAT(words("credential:other"), HasSubstr("credential:other cannot be read"));
    ::unsetenv("CREDENTIALS_DIRECTORY");
}

TEST_F(SecretFileTest, ErrorsNeverHoldTheSecret) {
    EXPECT_EQ(words(file("hunter2", 0644)).find("hunter2"), std::string::npos);
    EXPECT_EQ(read_secret_line(file("hunter2\nhunter3")).error().detail.find("hunter"), std::string::npos);
}

}  // namespace

}  // namespace nightferry
