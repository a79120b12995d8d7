// SQLite with our rules: every call checked, every error an Error, one connection that holds the file alone.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "daemon/core/result.hpp"
#include "daemon/logbook/files.hpp"
#include "daemon/logbook/statement_shelf.hpp"
#include "daemon/logbook/trust.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace nightferry::logbook {

// One prepared statement, bound and stepped. Binding counts from 1 as SQL does, columns from 0.
class Statement {
 public:
    Statement(Statement&&) noexcept = default;

    Statement& bind(int index, std::int64_t value);
    Statement& bind(int index, std::string_view text);
    Statement& bind_null(int index);

    // True when a row is there, false at the end.
    Result<bool> step();
    // Runs a statement that yields no rows.
    Result<void> run();

    std::int64_t integer(int column) const;
    std::string text(int column) const;
    bool is_null(int column) const;

 private:
    friend class Database;
    struct PutBack {
        std::shared_ptr<StatementShelf> shelf;
        void operator()(sqlite3_stmt* statement) const { shelf->put_back(statement); }
    };
    Statement(sqlite3* db, Trust& trust, std::shared_ptr<StatementShelf> shelf, sqlite3_stmt* statement)
        : db_(db), trust_(&trust), statement_(statement, PutBack{std::move(shelf)}) {}
    sqlite3* db_;
    Trust* trust_;
    std::unique_ptr<sqlite3_stmt, PutBack> statement_;
    int bind_failure_ = 0;
};

// After a failed write or sync every call fails with the same error: the process has to end, and open()
// writes the file anew before anything else relies on it.
class Database {
 public:
    // Opens or creates the file and takes it for this process alone; changes nothing in it yet. Errors:
    // locked, corrupt (no database), setup (the folder is missing or not writable), storage.
    static Result<Database> open(const std::filesystem::path& file, Files& files = system_files());

    // Opens a file that no process writes, for reading only, and leaves nothing beside it.
    static Result<Database> open_sealed(const std::filesystem::path& file, Files& files = system_files());

    // From here on every commit is on disk when it returns. Changes the file's journal mode, so it comes
    // after the file was recognised as ours. Errc::setup when the file system cannot do it.
    Result<void> make_durable();

    // Keeps the hold until the file is closed.
    void keep(std::unique_ptr<Files::Hold> hold) { hold_ = std::move(hold); }

    // From here on the function is called from time to time while a statement runs; where it returns false
    // the statement ends with Errc::storage and has changed nothing. The function must not use the database.
    // An empty one ends the watching.
    void watch(std::function<bool()> goes_on);

    // Reads every page. Errc::corrupt when one is damaged.
    Result<void> check_pages();

    // Ends the work on the file: everything in one file, and a mark for the next process that it was closed
    // so. Nothing may be called afterwards. On an error the file is as good as after a crash.
    Result<void> close_cleanly();

    Result<Statement> prepare(std::string_view sql);
    // Runs statements without parameters or results.
    Result<void> run(const std::string& sql);
    // The single integer a query yields.
    Result<std::int64_t> integer(std::string_view sql);

 private:
    struct Close {
        std::shared_ptr<StatementShelf> shelf;
        int operator()(sqlite3* db) const;
    };
    Database(sqlite3* db, const std::filesystem::path& file, Files& files);
    Error failure() const;

    std::filesystem::path file_;
    Files* files_;
    // Let go of last, after the file was closed.
    std::unique_ptr<Files::Hold> hold_;
    std::unique_ptr<Trust> trust_;
    std::unique_ptr<std::function<bool()>> goes_on_;
    std::unique_ptr<sqlite3, Close> db_;
};

// Rolls back unless commit() succeeded.
class Transaction {
 public:
    static Result<Transaction> begin(Database& db);
    Transaction(Transaction&& other) noexcept : db_(std::exchange(other.db_, nullptr)) {}
    Transaction& operator=(Transaction&&) = delete;
    ~Transaction();

    // When this returns without error, everything in the transaction is on disk.
    Result<void> commit();

 private:
    explicit Transaction(Database& db) : db_(&db) {}
    Database* db_;
};

}  // namespace nightferry::logbook
