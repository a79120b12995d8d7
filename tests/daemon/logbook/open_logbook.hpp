// A logbook in a folder of its own, and a way to reach into its file behind its back.
#pragma once

#include <sqlite3.h>

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/outbox.hpp"
#include "tests/daemon/logbook/entries.hpp"
#include "tests/support/files.hpp"

namespace nightferry::test {

// Runs SQL on a closed file through a connection of its own; the first column of the first row, if any.
inline std::string raw_sql(const std::filesystem::path& file, const std::string& sql) {
    sqlite3* db = nullptr;
    EXPECT_EQ(sqlite3_open(file.c_str(), &db), SQLITE_OK);
    std::optional<std::string> first;
    const auto keep_first = [](void* into, int, char** values, char**) {
        auto& kept = *static_cast<std::optional<std::string>*>(into);
        if (!kept) kept = values[0] == nullptr ? "" : values[0];
        return 0;
    };
    char* failure = nullptr;
    EXPECT_EQ(sqlite3_exec(db, sql.c_str(), keep_first, &first, &failure), SQLITE_OK)
        << (failure ? failure : "");
    sqlite3_free(failure);
    EXPECT_EQ(sqlite3_close(db), SQLITE_OK);
    return first.value_or("");
}

// A file with the tables of an earlier version and nothing in them.
inline void put_empty_logbook(const std::filesystem::path& file, int version) {
    raw_sql(file, source_file("tests/daemon/logbook/released/version_" + std::to_string(version) + ".sql"));
    raw_sql(file, raw_sql(file,
                          "SELECT group_concat('DELETE FROM \"' || name || '\"', ';') FROM sqlite_schema "
                          "WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"));
}

// Everything of these persons.
inline entry::SharingPolicy policy_for(std::set<std::string> persons) {
    entry::SharingTerms terms;
    terms.persons = std::move(persons);
    return entry::SharingPolicy(std::move(terms));
}

class OpenLogbook {
 public:
    OpenLogbook() { open(); }

    const std::filesystem::path& file() const { return file_; }
    logbook::Logbook& book() { return parts_->book; }
    logbook::Outbox& outbox() { return parts_->outbox; }
    logbook::Database& db() { return *parts_->db; }

    void close() { parts_.reset(); }
    void open() {
        auto opened = logbook::open(file_, test_now());
        ASSERT_TRUE(opened.has_value()) << opened.error().detail;
        parts_.emplace(std::move(*opened));
    }
    void reopen() {
        close();
        open();
    }
    // Reaches into the file while the logbook is closed for a moment.
    void damage(const std::string& sql) {
        close();
        raw_sql(file_, sql);
        open();
    }

    std::vector<logbook::Verdict> accept(const std::vector<logbook::Arrival>& arrivals,
                                         Instant now = test_now()) {
        const auto verdicts = book().accept(arrivals, now);
        EXPECT_TRUE(verdicts.has_value());
        return verdicts ? *verdicts : std::vector<logbook::Verdict>();
    }
    logbook::Verdict accept(entry::Submission submission, std::vector<std::string> clinics = {"north"}) {
        return accept(std::vector{arrival(std::move(submission), std::move(clinics))}).at(0);
    }
    logbook::EntryRecord record(const std::string& label) {
        const auto found = book().find(id_of(label));
        EXPECT_TRUE(found && *found) << label;
        return found && *found ? **found : logbook::EntryRecord{};
    }
    // How the entry's delivery to a clinic stands: "waiting for 2".
    std::string delivery(const std::string& label, const std::string& clinic = "north") {
        for (const logbook::Delivery& one : record(label).deliveries) {
            if (one.clinic != clinic) continue;
            return std::string(word_for(one.state)) + " for " + std::to_string(one.wanted);
        }
        return "none";
    }
    logbook::SharingChange share(const std::string& clinic, const entry::SharingPolicy& policy,
                                 Instant now = test_now()) {
        const auto change = book().share(clinic, policy, now);
        EXPECT_TRUE(change.has_value());
        return change ? *change : logbook::SharingChange();
    }
    std::vector<logbook::Parcel> take(std::size_t limit = 100) {
        auto parcels = outbox().take("north", {.limit = limit}, test_now());
        EXPECT_TRUE(parcels.has_value());
        return parcels ? std::move(*parcels) : std::vector<logbook::Parcel>();
    }
    void settle(const logbook::Settlement& settlement) {
        EXPECT_TRUE(outbox().settle("north", std::vector{settlement}, {}, test_now()).has_value());
    }

 private:
    struct Parts {
        explicit Parts(std::unique_ptr<logbook::Database> opened)
            : db(std::move(opened)), book(*db), outbox(*db) {}
        std::unique_ptr<logbook::Database> db;
        logbook::Logbook book;
        logbook::Outbox outbox;
    };
    TemporaryFolder folder_;
    std::filesystem::path file_ = logbook::file_in(folder_.path());
    std::optional<Parts> parts_;
};

// What a clinic answered for a revision of an entry.
inline logbook::Settlement confirmed(const std::string& label, std::int64_t revision = 1,
                                     const std::string& version = "1") {
    const logbook::Receipt receipt{revision, "Observation", "at-" + label, version, 201, test_now()};
    return {id_of(label), revision, logbook::Settlement::Fate::confirmed, receipt, false, false, {}};
}
inline logbook::Settlement again(const std::string& label, std::int64_t revision = 1) {
    return {id_of(label), revision, logbook::Settlement::Fate::again, {}, false, false, {}};
}
inline logbook::Settlement refused(const std::string& label, std::int64_t revision = 1,
                                   const std::string& words = "HTTP 422") {
    return {id_of(label), revision, logbook::Settlement::Fate::set_aside, {}, false, false, words};
}

}  // namespace nightferry::test
