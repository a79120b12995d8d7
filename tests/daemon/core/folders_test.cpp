#include "daemon/core/folders.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tests/support/files.hpp"

namespace nightferry {
namespace {

using std::filesystem::perms;

perms rights_of(const std::filesystem::path& folder) {
    return std::filesystem::status(folder).permissions() & perms::all;
}

TEST(FoldersTest, AFolderHasItsRightsWhateverTheMask) {
    const test::TemporaryFolder place;
    for (const mode_t mask : {mode_t{0}, mode_t{0027}, mode_t{0077}}) {
        const mode_t before = ::umask(mask);
        const std::string name = std::to_string(mask);
        EXPECT_FALSE(make_folder(place.path() / name / "closed" / "", perms::owner_all));
        EXPECT_FALSE(make_folder(place.path() / name / "shared", perms::owner_all | perms::group_all));
        EXPECT_EQ(::umask(before), mask);
        EXPECT_EQ(rights_of(place.path() / name / "closed"), perms::owner_all);
        EXPECT_EQ(rights_of(place.path() / name / "shared"), perms::owner_all | perms::group_all);
        EXPECT_EQ(rights_of(place.path() / name), perms{0777u & ~mask});
    }
}

TEST(FoldersTest, AnExistingFolderKeepsItsRights) {
    const test::TemporaryFolder place;
    const auto folder = place.path() / "data";
    std::filesystem::create_directory(folder);
    std::filesystem::permissions(folder, perms::owner_all | perms::group_read);
    EXPECT_FALSE(make_folder(folder, perms::owner_all));
    EXPECT_EQ(rights_of(folder), perms::owner_all | perms::group_read);
}

TEST(FoldersTest, WhereAFileLiesNoFolderIsMade) {
    const test::TemporaryFolder place;
    test::write_file(place.path() / "data", "");
    EXPECT_TRUE(make_folder(place.path() / "data", perms::owner_all));
    EXPECT_TRUE(make_folder(place.path() / "data" / "deeper", perms::owner_all));
}

TEST(FoldersTest, AFolderThatRootMadeIsGivenToTheOwnerOfTheOneAbove) {
    // Nobody else can; CI runs as root, and tests/package/life.sh has the whole way.
    if (::geteuid() != 0) GTEST_SKIP() << "only root may give a folder away";
    const test::TemporaryFolder place;
    const auto owner_of = [](const std::filesystem::path& folder) {
        struct stat facts {};
        EXPECT_EQ(::stat(folder.c_str(), &facts), 0);
        return std::pair(facts.st_uid, facts.st_gid);
    };
    const std::pair<uid_t, gid_t> daemon{12345, 54321};
    const std::pair<uid_t, gid_t> other{777, 777};
    ASSERT_EQ(::chown(place.path().c_str(), daemon.first, daemon.second), 0);
    ASSERT_FALSE(make_folder(place.path() / "data" / "", perms::owner_all));
    EXPECT_FALSE(give_to_owner_above(place.path() / "data" / ""));
    EXPECT_EQ(owner_of(place.path() / "data"), daemon);
    // Somebody decided on these.
    ASSERT_EQ(::chown((place.path() / "data").c_str(), other.first, other.second), 0);
    EXPECT_FALSE(give_to_owner_above(place.path() / "data"));
    EXPECT_EQ(owner_of(place.path() / "data"), other);
    std::filesystem::create_directories(place.path() / "used" / "deeper");
    EXPECT_FALSE(give_to_owner_above(place.path() / "used"));
    EXPECT_EQ(owner_of(place.path() / "used").first, 0U);
    EXPECT_TRUE(give_to_owner_above(place.path() / "missing"));
}

}  // namespace
}  // namespace nightferry
