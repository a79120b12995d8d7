#include "daemon/logbook/opening.hpp"

#include "daemon/logbook/copied.hpp"
#include "daemon/logbook/copies.hpp"
#include "daemon/logbook/erasing.hpp"
#include "daemon/logbook/rewrite.hpp"
#include "daemon/logbook/rows.hpp"
#include "daemon/logbook/schema.hpp"

namespace nightferry::logbook {

namespace {

Result<bool> is_there(Files& files, const std::filesystem::path& file) {
    const auto size = files.size(file);
    if (!size) return size.error();
    return size->has_value();
}

// SQLite would begin a new, empty logbook in place of a file that went missing, and throw the WAL away with
// the entries in it. An empty file alone is what a crash in the very first start leaves.
Result<void> refuse_to_begin_anew(const std::filesystem::path& file, Files& files) {
    const Beside beside(file);
    const auto size = files.size(file);
    if (!size) return size.error();
    if (size->value_or(0) > 0) return {};
    const auto wal = files.size(beside.wal);
    if (!wal) return wal.error();
    const auto was_closed = is_there(files, beside.closed);
    if (!was_closed) return was_closed.error();
    const bool has_wal = wal->value_or(0) > 0;
    if (!has_wal && !*was_closed) return {};
    const std::string sign = (has_wal ? beside.wal : beside.closed).filename().string();
    return Error{Errc::corrupt, "the logbook " + file.string() + (*size ? " is empty" : " is missing") +
                                    ", but " + sign +
                                    " beside it shows that there was one; no new one was begun in its place"};
}

// Only after an end that was not clean, and not where it would take long on a small machine: a bigger file is
// checked by what SQLite itself looks at in each page as it reads it (cell_size_check).
Result<void> check(Database& db, bool was_closed_cleanly) {
    constexpr std::int64_t most_bytes = 32 * 1024 * 1024;
    if (was_closed_cleanly) return {};
    const auto pages = db.integer("PRAGMA page_count");
    if (!pages) return pages.error();
    const auto page_size = db.integer("PRAGMA page_size");
    if (!page_size) return page_size.error();
    if (*pages * *page_size > most_bytes) return {};
    return db.check_pages();
}

// In one commit: that this process started, and what that means for what was under way.
Result<void> commit_a_start(Database& db, Instant now) {
    auto transaction = Transaction::begin(db);
    if (!transaction) return transaction.error();
    auto barrier = db.prepare("INSERT INTO starts (started_us) VALUES (?1)");
    if (!barrier) return barrier.error();
    const auto started = barrier->bind(1, micros(now)).run();
    if (!started) return started.error();
    // Whatever was under way when the last process ended was sent or not; nobody knows.
    const auto reset =
        db.run("UPDATE deliveries SET state = 'waiting', outcome_unknown = 1 WHERE state = 'under_way'");
    if (!reset) return reset.error();
    const auto doubted = doubt_what_a_copy_says(db, now);
    if (!doubted) return doubted.error();
    return transaction->commit();
}

using GoesOn = std::function<bool()>;

Result<Database> open_recognised(const std::filesystem::path& file, Files& files, const GoesOn& goes_on) {
    auto db = Database::open(file, files);
    if (!db) return db.error();
    db->watch(goes_on);
    const auto recognised = recognise(*db);
    if (!recognised) return recognised.error();
    return db;
}

// Takes the mark of a clean end away, so that it is there only while nobody uses the file. Somebody who puts
// another file in its place after a clean end gets that one unchecked.
Result<bool> take_closed_mark(const std::filesystem::path& file, Files& files) {
    const Beside beside(file);
    const auto marked = is_there(files, beside.closed);
    if (!marked) return marked.error();
    if (*marked) {
        const auto removed = remove_for_good(files, {beside.closed});
        if (!removed) return removed.error();
    }
    return *marked;
}

Result<Database> open_trusted(const std::filesystem::path& file, Files& files, const GoesOn& goes_on) {
    const auto finished = finish_rewrite(file, files);
    if (!finished) return finished.error();
    const auto begins = refuse_to_begin_anew(file, files);
    if (!begins) return begins.error();
    auto db = open_recognised(file, files, goes_on);
    if (!db) return db.error();
    const auto in_doubt = is_there(files, Beside(file).in_doubt);
    if (!in_doubt) return in_doubt.error();
    if (!*in_doubt) return db;
    // A copy of a damaged file could look whole.
    const auto sound = check(*db, false);
    if (!sound) return sound.error();
    const auto rewritten = rewrite(std::move(*db), file, files);
    if (!rewritten) {
        return Error{
            rewritten.error().code,
            "after a disk error the logbook has to be written anew before it can be used, and that did "
            "not work: " +
                rewritten.error().detail};
    }
    return open_recognised(file, files, goes_on);
}

Result<std::unique_ptr<Database>> open_held(const std::filesystem::path& file, Instant now, Files& files,
                                            const GoesOn& goes_on) {
    // A clean end leaves no WAL: where there is one, the mark is another's, such as a restore's that was cut
    // short.
    const auto wal = files.size(Beside(file).wal);
    if (!wal) return wal.error();
    auto opened = open_trusted(file, files, goes_on);
    if (!opened) return opened.error();
    auto db = std::make_unique<Database>(std::move(*opened));
    const auto has_mark = take_closed_mark(file, files);
    if (!has_mark) return has_mark.error();
    const bool was_closed_cleanly = *has_mark && wal->value_or(0) == 0;
    const auto durable = db->make_durable();
    if (!durable) return durable.error();
    const auto migrated = migrate(*db, file, now, files);
    if (!migrated) return migrated.error();
    const auto sound = check(*db, was_closed_cleanly);
    if (!sound) return sound.error();
    const auto erased = finish_erasing(*db, file, files);
    if (!erased) return erased.error();
    const auto started = commit_a_start(*db, now);
    if (!started) return started.error();
    return db;
}

Error with_help(const Error& error, const std::filesystem::path& file, Files& files) {
    switch (error.code) {
        case Errc::corrupt:
            return {error.code, error.detail + ". " + how_to_restore(file, files)};
        case Errc::disk_full:
            return {error.code, error.detail + " (" + file.string() +
                                    "); everything in it is safe, and it opens again when there is room"};
        default:
            return error;
    }
}

}  // namespace

std::filesystem::path file_in(const std::filesystem::path& data) {
    return data / "logbook.sqlite";
}

Result<std::unique_ptr<Database>> open(const std::filesystem::path& file, Instant now, Files& files,
                                       const std::function<bool()>& goes_on) {
    auto hold = files.hold(Beside(file).folder);
    if (!hold) return hold.error();
    auto db = open_held(file, now, files, goes_on);
    if (!db) return with_help(db.error(), file, files);
    remove_leftovers(file, files);
    (*db)->keep(std::move(*hold));
    return db;
}

Result<bool> is_first_start(Database& db) {
    const auto starts = db.integer("SELECT count(*) FROM (SELECT 1 FROM starts LIMIT 2)");
    if (!starts) return starts.error();
    return *starts == 1;
}

}  // namespace nightferry::logbook
