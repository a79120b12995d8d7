#include "daemon/logbook/database.hpp"

#include <sqlite3.h>

namespace nightferry::logbook {

namespace {

Error error_from(int code) {
    switch (code & 0xFF) {
        case SQLITE_FULL:
            return {Errc::disk_full, "there is no room on the disk that holds the logbook"};
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return {Errc::locked, "another process holds the logbook; only one nightferryd can use it"};
        case SQLITE_CORRUPT:
            return {Errc::corrupt,
                    "the logbook file is damaged; stop, keep a copy of it, and restore the last backup"};
        case SQLITE_NOTADB:
            return {Errc::corrupt, "the file in the logbook's place is no logbook; it was left as it is"};
        case SQLITE_CANTOPEN:
            return {Errc::setup, "the logbook cannot be opened; its folder must exist and be writable"};
        case SQLITE_READONLY:
        case SQLITE_PERM:
            return {Errc::setup, "the logbook is read-only for this user"};
        default:
            return {Errc::storage, "the logbook's disk failed: " + std::string(sqlite3_errstr(code))};
    }
}

}  // namespace

void Statement::Finalize::operator()(sqlite3_stmt* statement) const {
    sqlite3_finalize(statement);
}

Statement& Statement::bind(int index, std::int64_t value) {
    bind_failure_ |= sqlite3_bind_int64(statement_.get(), index, value);
    return *this;
}

Statement& Statement::bind(int index, std::string_view text) {
    // A null pointer would bind SQL NULL; an empty text is not that.
    const char* start = text.empty() ? "" : text.data();
    bind_failure_ |=
        sqlite3_bind_text64(statement_.get(), index, start, text.size(), SQLITE_TRANSIENT, SQLITE_UTF8);
    return *this;
}

Statement& Statement::bind_null(int index) {
    bind_failure_ |= sqlite3_bind_null(statement_.get(), index);
    return *this;
}

Result<bool> Statement::step() {
    if (bind_failure_ != SQLITE_OK) return error_from(bind_failure_);
    const int code = sqlite3_step(statement_.get());
    if (code == SQLITE_ROW) return true;
    if (code == SQLITE_DONE) return false;
    return error_from(sqlite3_extended_errcode(db_));
}

Result<void> Statement::run() {
    const auto row = step();
    if (!row) return row.error();
    return {};
}

std::int64_t Statement::integer(int column) const {
    return sqlite3_column_int64(statement_.get(), column);
}

std::string Statement::text(int column) const {
    const auto* start = sqlite3_column_text(statement_.get(), column);
    const auto length = static_cast<std::size_t>(sqlite3_column_bytes(statement_.get(), column));
    return start == nullptr ? std::string() : std::string(reinterpret_cast<const char*>(start), length);
}

bool Statement::is_null(int column) const {
    return sqlite3_column_type(statement_.get(), column) == SQLITE_NULL;
}

void Database::Close::operator()(sqlite3* db) const {
    sqlite3_close(db);
}

Result<Database> Database::open(const std::filesystem::path& file) {
    sqlite3* raw = nullptr;
    const int code = sqlite3_open_v2(
        file.c_str(), &raw, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, nullptr);
    Database db(raw);
    if (code != SQLITE_OK) return error_from(code);
    sqlite3_extended_result_codes(raw, 1);
    // Exclusive before WAL: then no shared-memory file exists and no second connection can ever come in,
    // which the WAL-reset fault of SQLite before 3.51.3 needs.
    // The empty transaction takes the lock at once, so that of two starting processes one wins.
    const auto set = db.run(
        "PRAGMA locking_mode=EXCLUSIVE; PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON;"
        "BEGIN EXCLUSIVE; COMMIT");
    if (!set) return set.error();
    return db;
}

Result<void> Database::make_durable() {
    // FULL makes every commit an fsync.
    const auto set =
        run("PRAGMA journal_mode=WAL;"
            "PRAGMA synchronous=FULL;"
            "PRAGMA foreign_keys=ON;"
            "PRAGMA secure_delete=ON;"
            "PRAGMA temp_store=MEMORY;"
            "PRAGMA wal_autocheckpoint=500;"
            "PRAGMA journal_size_limit=4194304;");
    if (!set) return set.error();
    const auto synchronous = integer("PRAGMA synchronous");
    if (!synchronous) return synchronous.error();
    auto mode = prepare("PRAGMA journal_mode");
    if (!mode) return mode.error();
    const auto row = mode->step();
    if (!row) return row.error();
    if (*synchronous != 2 || mode->text(0) != "wal") {
        return Error{Errc::setup,
                     "the logbook's folder does not allow durable writes (it has to be a local disk)"};
    }
    return {};
}

Result<Statement> Database::prepare(std::string_view sql) {
    sqlite3_stmt* statement = nullptr;
    const int code =
        sqlite3_prepare_v2(db_.get(), sql.data(), static_cast<int>(sql.size()), &statement, nullptr);
    if (code != SQLITE_OK) return error_from(sqlite3_extended_errcode(db_.get()));
    return Statement(db_.get(), statement);
}

Result<void> Database::run(const std::string& sql) {
    const int code = sqlite3_exec(db_.get(), sql.c_str(), nullptr, nullptr, nullptr);
    if (code != SQLITE_OK) return error_from(sqlite3_extended_errcode(db_.get()));
    return {};
}

Result<std::int64_t> Database::integer(std::string_view sql) {
    auto statement = prepare(sql);
    if (!statement) return statement.error();
    const auto row = statement->step();
    if (!row) return row.error();
    return statement->integer(0);
}

Result<Transaction> Transaction::begin(Database& db) {
    const auto begun = db.run("BEGIN IMMEDIATE");
    if (!begun) return begun.error();
    return Transaction(db);
}

Transaction::~Transaction() {
    // A failed statement may already have rolled back; a second rollback then only says so.
    if (db_ != nullptr) (void)db_->run("ROLLBACK");
}

Result<void> Transaction::commit() {
    const auto committed = db_->run("COMMIT");
    if (!committed) return committed.error();
    db_ = nullptr;
    return {};
}

}  // namespace nightferry::logbook
