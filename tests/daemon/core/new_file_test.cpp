// Files that come into being whole or not at all.
#include "daemon/core/new_file.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include "daemon/core/secret_file.hpp"
#include "tests/support/files.hpp"

namespace nightferry {

namespace {

using test::read_file;
using test::TemporaryFolder;
using test::write_file;

TEST(NewFileTest, HasItsNameOnlyOnceItIsWhole) {
    TemporaryFolder folder;
    auto file = NewFile::begin(folder / "backup");
    ASSERT_TRUE(file.has_value()) << file.error().detail;
    ASSERT_TRUE(file->write("one, "));
    EXPECT_FALSE(std::filesystem::exists(folder / "backup"));
    ASSERT_TRUE(file->write("two"));
    ASSERT_TRUE(file->settle());
    EXPECT_EQ(read_file(folder / "backup"), "one, two");
    EXPECT_FALSE(std::filesystem::exists(folder / "backup.part"));
    struct stat facts {};
    ASSERT_EQ(::stat((folder / "backup").c_str(), &facts), 0);
    EXPECT_EQ(facts.st_mode & 07777, 0600U);
}

TEST(NewFileTest, LeavesNothingWhenItIsNotSettled) {
    TemporaryFolder folder;
    {
        auto file = NewFile::begin(folder / "backup");
        ASSERT_TRUE(file->write("half"));
    }
    EXPECT_TRUE(std::filesystem::is_empty(folder.path()));
}

TEST(NewFileTest, NeverTakesThePlaceOfAnother) {
    TemporaryFolder folder;
    write_file(folder / "backup", "older");
    const auto refused = NewFile::begin(folder / "backup");
    EXPECT_THAT(refused.error().detail, testing::HasSubstr("is there already, and is never overwritten"));
    std::filesystem::create_symlink("nowhere", folder / "link");
    EXPECT_FALSE(NewFile::begin(folder / "link"));
    auto file = NewFile::begin(folder / "late");
    ASSERT_TRUE(file->write("mine"));
    write_file(folder / "late", "somebody else's");
    EXPECT_EQ(file->settle().error().code, Errc::setup);
    EXPECT_EQ(read_file(folder / "late"), "somebody else's");
    EXPECT_EQ(read_file(folder / "backup"), "older");
}

TEST(NewFileTest, SaysWhichFolderTakesNoFile) {
    TemporaryFolder folder;
    const auto refused = NewFile::begin(folder / "nowhere" / "backup");
    EXPECT_EQ(refused.error().code, Errc::setup);
    EXPECT_THAT(refused.error().detail, testing::HasSubstr("nowhere/backup cannot be written: No such file"));
}

TEST(NewFileTest, OfASecretIsForItsOwnerAloneFromTheFirstMoment) {
    TemporaryFolder folder;
    const mode_t before = ::umask(0);
    {
        const auto begun = NewFile::begin(folder / "half");
        struct stat facts {};
        ASSERT_EQ(::stat(begun->part().c_str(), &facts), 0);
        EXPECT_EQ(facts.st_mode & 0777, 0600u);
    }
    ASSERT_TRUE(write_new_file(folder / "key", "secret"));
    ::umask(before);
    EXPECT_EQ(read_secret(folder / "key").value(), "secret");
    EXPECT_FALSE(write_new_file(folder / "key", "another"));
    EXPECT_EQ(read_secret(folder / "key").value(), "secret");
}

}  // namespace

}  // namespace nightferry
