// Putting a copy in the place of the logbook is cut short, and tried again.
#include "tests/daemon/logbook/backups.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::HasSubstr;

TEST(RestoreTest, CutShortBeforeTheEndNoEmptyLogbookIsBegunAndAnotherTryWorks) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("w1"));
    back_up(log, folder / "backup");
    const std::filesystem::path file = folder / "logbook.sqlite";
    write_file(file.string() + ".closed", "");
    write_file(file.string() + ".restoring", "half");
    write_file(file.string() + ".restoring.part", "half");
    EXPECT_THAT(open(file, later).error().detail, HasSubstr("no new one was begun in its place"));
    ASSERT_TRUE(restore(folder / "backup", file, false, later));
    const auto db = open(file, later);
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    EXPECT_THAT(Logbook(**db).list({}).value().records, testing::SizeIs(1));
    EXPECT_THAT(names_beside(file), testing::Not(testing::Contains(HasSubstr("restoring"))));
}

TEST(RestoreTest, AJournalOfOneThatWasCutShortIsNotPlayedIntoTheNext) {
    OpenLogbook log;
    TemporaryFolder folder;
    log.accept(a_weight("w1"));
    back_up(log, folder / "backup");
    const std::filesystem::path file = folder / "logbook.sqlite";
    write_file(file.string() + ".restoring", "half");
    write_file(file.string() + ".restoring-journal", journal_of_another(folder));
    write_file(file.string() + ".restoring-wal.part", "half");
    ASSERT_TRUE(restore(folder / "backup", file, false, later));
    const auto db = open(file, later);
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    EXPECT_THAT(check_up(**db).value().faults, testing::IsEmpty());
    EXPECT_EQ(check_up(**db).value().entries, 1);
    EXPECT_THAT(names_beside(file), testing::Not(testing::Contains(HasSubstr("restoring"))));
}

TEST(RestoreTest, WhatWasCutShortIsGoneWhenTheLogbookIsOpened) {
    OpenLogbook log;
    log.close();
    const auto names = names_beside(log.file());
    for (const char* ending : {".copying", ".copied", ".copied.unmarked", ".copied.copying-journal",
                               ".restoring", ".restoring.part", ".restoring-wal", ".moving-20261103T120000Z",
                               ".before-v3.copying", ".before-v3.unmarked-journal"})
        write_file(log.file().string() + ending, "health data");
    write_file(log.file().string() + ".before-v3", "kept");
    write_file(log.file().string() + ".aside-20261103T120000Z", "kept");
    // Names that begin like ours, of files that somebody else put there.
    for (const char* ending : {".copied-by-anna", ".copying.txt", ".restoring.old", ".moving-house",
                               ".before-v3.copying.bak", ".before-vacation.copying"})
        write_file(log.file().string() + ending, "somebody's");
    log.open();
    log.close();
    auto expected = names;
    expected.insert(
        expected.end(),
        {"logbook.sqlite.aside-20261103T120000Z", "logbook.sqlite.before-v3", "logbook.sqlite.copied-by-anna",
         "logbook.sqlite.copying.txt", "logbook.sqlite.restoring.old", "logbook.sqlite.moving-house",
         "logbook.sqlite.before-v3.copying.bak", "logbook.sqlite.before-vacation.copying"});
    EXPECT_THAT(names_beside(log.file()), testing::UnorderedElementsAreArray(expected));
}

// A process that is killed just before its n-th call that changes a name.
class Cut final : public Files {
 public:
    explicit Cut(int n) : left_(n) {}
    bool came() const { return left_ < 0; }

    Result<std::unique_ptr<Hold>> hold(const std::filesystem::path& folder) override {
        return real_.hold(folder);
    }
    Result<std::optional<std::uint64_t>> size(const std::filesystem::path& file) override {
        return real_.size(file);
    }
    Result<std::vector<Found>> list(const std::filesystem::path& folder) override {
        return real_.list(folder);
    }
    Result<void> create(const std::filesystem::path& file) override {
        return is_cut() ? dead() : real_.create(file);
    }
    Result<void> rename(const std::filesystem::path& from, const std::filesystem::path& to) override {
        return is_cut() ? dead() : real_.rename(from, to);
    }
    Result<void> remove(const std::filesystem::path& file) override {
        return is_cut() ? dead() : real_.remove(file);
    }
    Result<void> copy_rights(const std::filesystem::path& from, const std::filesystem::path& to) override {
        return real_.copy_rights(from, to);
    }
    Result<void> sync(const std::filesystem::path& file) override { return real_.sync(file); }
    Result<void> sync_folder(const std::filesystem::path& folder) override {
        return real_.sync_folder(folder);
    }

 private:
    bool is_cut() { return left_ < 0 || --left_ < 0; }
    static Result<void> dead() { return Error{Errc::storage, "killed"}; }

    Files& real_ = system_files();
    int left_;
};

TEST(RestoreTest, CutShortAnywhereAndTriedAgainTheOldLogbookStaysWholeUnderOneName) {
    OpenLogbook log;
    TemporaryFolder source;
    log.accept(a_weight("old"));
    back_up(log, source / "backup");
    log.accept(a_weight("new"));
    bool came = true;
    int n = 0;
    for (; came; ++n) {
        SCOPED_TRACE(n);
        TemporaryFolder folder;
        const std::filesystem::path file = folder / "logbook.sqlite";
        // The newest is in the WAL only.
        for (const char* ending : {"", "-wal"})
            std::filesystem::copy_file(log.file().string() + ending, file.string() + ending);
        Cut files(n);
        const auto first = restore(source / "backup", file, true, later, files);
        came = files.came();
        EXPECT_TRUE(first.has_value() || came);
        if (!std::filesystem::exists(file)) {
            EXPECT_THAT(open(file, later).error().detail, HasSubstr("no new one was begun in its place"));
        }
        const auto second = restore(source / "backup", file, true, later + std::chrono::hours{1});
        ASSERT_TRUE(second.has_value()) << second.error().detail;
        EXPECT_EQ(raw_sql(file, "SELECT count(*) FROM entries"), "1");
        std::vector<std::string> of_old;
        for (const std::string& name : names_beside(file)) {
            if (name.ends_with("-wal") || !name.starts_with("logbook.sqlite.aside-")) continue;
            if (raw_sql(folder / name, "SELECT count(*) FROM entries") == "2") of_old.push_back(name);
        }
        EXPECT_THAT(of_old, testing::SizeIs(1));
        EXPECT_THAT(names_beside(file), testing::Not(testing::Contains(HasSubstr("restoring"))));
        EXPECT_THAT(names_beside(file), testing::Not(testing::Contains(HasSubstr("moving"))));
    }
    EXPECT_GT(n, 12);
}

}  // namespace

}  // namespace nightferry::logbook
