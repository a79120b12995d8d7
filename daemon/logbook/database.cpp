#include "daemon/logbook/database.hpp"

#include <sqlite3.h>

#include <cassert>
#include <cstdlib>

#include "daemon/core/http.hpp"
#include "daemon/logbook/failures.hpp"

namespace nightferry::logbook {

namespace {

// The errno value behind a failure with this code, 0 when it is not known. SQLite keeps one for the
// connection, but not of a failed commit and not of a failed read; the files know theirs. A file that could
// not be opened knows nothing.
int system_error_of(sqlite3* db, int code) {
    if ((code & 0xFF) == SQLITE_CANTOPEN) return sqlite3_system_errno(db);
    int number = 0;
    sqlite3_file* log = nullptr;
    sqlite3_file_control(db, "main", SQLITE_FCNTL_JOURNAL_POINTER, &log);
    if (log != nullptr && log->pMethods != nullptr)
        log->pMethods->xFileControl(log, SQLITE_FCNTL_LAST_ERRNO, &number);
    if (number == 0) sqlite3_file_control(db, "main", SQLITE_FCNTL_LAST_ERRNO, &number);
    return number == 0 && (code & 0xFF) == SQLITE_IOERR ? sqlite3_system_errno(db) : number;
}

// Whether this finding of quick_check is about a page that could not be read, for want of memory too; it says
// nothing about what the page holds then. Of pages of long rows it tells no code: they are read once it is
// clear that the file should have them, so that only the disk can have failed.
bool says_unread(const std::string& found) {
    constexpr std::string_view code_follows = "error code=";
    if (found.find("failed to get page") != std::string::npos) return true;
    const auto at = found.find(code_follows);
    if (at == std::string::npos) return false;
    const int code = std::atoi(found.c_str() + at + code_follows.size()) & 0xFF;
    return code == SQLITE_IOERR || code == SQLITE_NOMEM;
}

}  // namespace

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
    if (trust_->lost()) return *trust_->lost();
    if (bind_failure_ != SQLITE_OK) return error_from_sqlite(bind_failure_, 0);
    const int code = sqlite3_step(statement_.get());
    if (code == SQLITE_ROW) return true;
    if (code == SQLITE_DONE) return false;
    const int failure = sqlite3_extended_errcode(db_);
    return trust_->error_from(failure, system_error_of(db_, failure));
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

int Database::Close::operator()(sqlite3* db) const {
    shelf->close();
    return sqlite3_close(db);
}

Database::Database(sqlite3* db, const std::filesystem::path& file, Files& files)
    : file_(file),
      files_(&files),
      trust_(std::make_unique<Trust>(file, files)),
      db_(db, Close{std::make_shared<StatementShelf>()}) {}

Error Database::failure() const {
    const int code = sqlite3_extended_errcode(db_.get());
    return trust_->error_from(code, system_error_of(db_.get(), code));
}

Result<Database> Database::open(const std::filesystem::path& file, Files& files) {
    sqlite3* raw = nullptr;
    const int code = sqlite3_open_v2(
        file.c_str(), &raw, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, nullptr);
    Database db(raw, file, files);
    if (code != SQLITE_OK)
        return db.trust_->error_from(sqlite3_extended_errcode(raw), sqlite3_system_errno(raw));
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

Result<Database> Database::open_sealed(const std::filesystem::path& file, Files& files) {
    sqlite3* raw = nullptr;
    const std::string address = "file:" + percent_encode(file.string()) + "?immutable=1";
    const int code = sqlite3_open_v2(address.c_str(), &raw,
                                     SQLITE_OPEN_READONLY | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX, nullptr);
    Database db(raw, file, files);
    if (code != SQLITE_OK)
        return db.trust_->error_from(sqlite3_extended_errcode(raw), sqlite3_system_errno(raw));
    sqlite3_extended_result_codes(raw, 1);
    const auto set = db.run("PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON; PRAGMA temp_store=MEMORY");
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
    if (*synchronous != 2 || mode->text(0) != "wal") return no_local_disk();
    return {};
}

void Database::watch(std::function<bool()> goes_on) {
    // Some milliseconds of a small machine.
    constexpr int steps_between = 100'000;
    auto kept = goes_on ? std::make_unique<std::function<bool()>>(std::move(goes_on)) : nullptr;
    const auto ask = [](void* function) {
        return (*static_cast<std::function<bool()>*>(function))() ? 0 : 1;
    };
    if (kept) {
        sqlite3_progress_handler(db_.get(), steps_between, ask, kept.get());
    } else {
        sqlite3_progress_handler(db_.get(), 0, nullptr, nullptr);
    }
    goes_on_ = std::move(kept);
}

Result<void> Database::check_pages() {
    auto check = prepare("PRAGMA quick_check(1)");
    if (!check) return check.error();
    const auto row = check->step();
    if (!row) return row.error();
    const std::string found = check->text(0);
    if (found == "ok") return {};
    return error_from_sqlite(says_unread(found) ? SQLITE_IOERR_READ : SQLITE_CORRUPT, 0);
}

Result<void> Database::close_cleanly() {
    {
        auto checkpoint = prepare("PRAGMA wal_checkpoint(TRUNCATE)");
        if (!checkpoint) return checkpoint.error();
        const auto row = checkpoint->step();
        if (!row) return row.error();
        if (checkpoint->integer(0) != 0) return held_elsewhere();
    }
    [[maybe_unused]] const int code = db_.get_deleter()(db_.release());
    assert(code == SQLITE_OK);
    const auto marked = leave_mark(*files_, Beside(file_).closed);
    hold_.reset();
    return marked;
}

Result<Statement> Database::prepare(std::string_view sql) {
    if (trust_->lost()) return *trust_->lost();
    const std::shared_ptr<StatementShelf>& shelf = db_.get_deleter().shelf;
    sqlite3_stmt* statement = shelf->take(sql);
    if (statement == nullptr) {
        const int code =
            sqlite3_prepare_v2(db_.get(), sql.data(), static_cast<int>(sql.size()), &statement, nullptr);
        if (code != SQLITE_OK) return failure();
    }
    return Statement(db_.get(), *trust_, shelf, statement);
}

Result<void> Database::run(const std::string& sql) {
    if (trust_->lost()) return *trust_->lost();
    const int code = sqlite3_exec(db_.get(), sql.c_str(), nullptr, nullptr, nullptr);
    if (code != SQLITE_OK) return failure();
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
    auto begin = db.prepare("BEGIN IMMEDIATE");
    if (!begin) return begin.error();
    const auto begun = begin->run();
    if (!begun) return begun.error();
    return Transaction(db);
}

Transaction::~Transaction() {
    // A failed statement may already have rolled back; a second rollback then only says so.
    if (db_ != nullptr) (void)db_->run("ROLLBACK");
}

Result<void> Transaction::commit() {
    auto commit = db_->prepare("COMMIT");
    if (!commit) return commit.error();
    const auto committed = commit->run();
    if (!committed) return committed.error();
    db_ = nullptr;
    return {};
}

}  // namespace nightferry::logbook
