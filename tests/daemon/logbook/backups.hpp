// Copies of a logbook for tests, and what may lie beside one.
#pragma once

#include <sqlite3.h>

#include "daemon/logbook/restoring.hpp"
#include "daemon/logbook/snapshot.hpp"
#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::test {

// Later than test_now(), at which everything in these tests is recorded and copied.
inline const Instant later = test_now() + std::chrono::hours{24};

inline void back_up(OpenLogbook& log, const std::filesystem::path& into) {
    const auto copy = logbook::Snapshot::take(log.db(), log.file(), test_now(), logbook::system_files());
    ASSERT_TRUE(copy.has_value()) << copy.error().detail;
    std::string bytes;
    // In parts, as it is fetched.
    while (bytes.size() < copy->bytes())
        bytes += copy->read(bytes.size(), 5000).value();
    EXPECT_EQ(copy->read(copy->bytes(), 5000).value(), "");
    write_file(into, bytes);
}

inline std::vector<std::string> names_beside(const std::filesystem::path& file) {
    std::vector<std::string> names;
    for (const auto& item : std::filesystem::directory_iterator(file.parent_path()))
        names.push_back(item.path().filename().string());
    std::sort(names.begin(), names.end());
    return names;
}

// What an interrupted write to a file leaves beside it: SQLite plays it into whatever file has that name.
inline std::string hot_journal(const std::filesystem::path& of) {
    sqlite3* db = nullptr;
    EXPECT_EQ(sqlite3_open(of.c_str(), &db), SQLITE_OK);
    EXPECT_EQ(sqlite3_exec(db,
                           "PRAGMA journal_mode=DELETE; PRAGMA cache_size=1; BEGIN; "
                           "UPDATE revisions SET body = body || hex(zeroblob(9000))",
                           nullptr, nullptr, nullptr),
              SQLITE_OK);
    const std::string journal = read_file(of.string() + "-journal");
    EXPECT_EQ(sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr), SQLITE_OK);
    EXPECT_EQ(sqlite3_close(db), SQLITE_OK);
    EXPECT_GT(journal.size(), 8000U);
    return journal;
}

// A small backup with one entry beside one with many, and the journal of an interrupted write to the latter.
inline std::string journal_of_another(const TemporaryFolder& folder) {
    OpenLogbook other;
    for (int i = 0; i < 60; ++i)
        other.accept(a_weight("other" + std::to_string(i)));
    back_up(other, folder / "other");
    std::string journal = hot_journal(folder / "other");
    std::filesystem::remove(folder / "other");
    return journal;
}

}  // namespace nightferry::test
