#include "daemon/logbook/copied.hpp"

#include <algorithm>
#include <charconv>

#include "daemon/entry/check.hpp"
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/device_shelf.hpp"
#include "daemon/logbook/pins.hpp"
#include "daemon/logbook/rewrite.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

constexpr char mark[] = "copied_us";
constexpr char lost[] = "lost_us";
constexpr char restored[] = "restored_us";

// Nothing where no such moment is remembered, or what is remembered is none.
Result<std::optional<Instant>> moment_at(Database& db, const char* name) {
    const auto text = remembered(db, name);
    if (!text) return text.error();
    std::int64_t number = 0;
    const std::string digits = text->value_or("");
    const auto [end, failure] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
    if (digits.empty() || failure != std::errc() || end != digits.data() + digits.size())
        return std::optional<Instant>();
    return std::optional(instant_from(number));
}

// Nothing that a lost life accepted can have happened later.
Result<Instant> end_of_lost_life(Database& db, Instant now) {
    const auto newest = newest_accepted(db);
    if (!newest) return newest.error();
    Instant last = std::max(now, newest->value_or(now));
    for (const char* name : {mark, lost, restored}) {
        const auto moment = moment_at(db, name);
        if (!moment) return moment.error();
        last = std::max(last, moment->value_or(now));
    }
    return last + entry::future_allowance;
}

Result<void> mark_file(const std::filesystem::path& copy, Instant now, Files& files) {
    auto db = Database::open(copy, files);
    if (!db) return db.error();
    return mark_as_copy(*db, now);
}

Result<void> copy_by_way_of(const std::filesystem::path& unmarked, Database& db,
                            const std::filesystem::path& copy, Instant now, Files& files) {
    const auto copied = copy_durably(db, copy.string() + ".copying", unmarked, files);
    if (!copied) return copied;
    if (const auto marked = mark_file(unmarked, now, files); !marked) return marked;
    if (const auto synced = files.sync(unmarked); !synced) return synced;
    if (const auto renamed = files.rename(unmarked, copy); !renamed) return renamed;
    return files.sync_folder(Beside(copy).folder);
}

}  // namespace

Result<void> mark_as_copy(Database& copy, Instant now) {
    const auto before = remembered(copy, mark);
    if (!before) return before.error();
    if (*before) return {};
    return remember(copy, mark, std::to_string(micros(now)));
}

Result<void> mark_lost_life(Database& copy, Instant last_written) {
    const auto before = moment_at(copy, lost);
    if (!before) return before.error();
    const Instant last = std::max(last_written, before->value_or(last_written));
    return remember(copy, lost, std::to_string(micros(last)));
}

Result<std::optional<Instant>> newest_accepted(Database& db) {
    auto query = db.prepare("SELECT max(accepted_us) FROM revisions");
    if (!query) return query.error();
    const auto row = query->step();
    if (!row) return row.error();
    return query->is_null(0) ? std::optional<Instant>() : std::optional(instant_from(query->integer(0)));
}

Result<void> copy_with_mark(Database& db, const std::filesystem::path& copy, Instant now, Files& files) {
    const std::filesystem::path unmarked = copy.string() + ".unmarked";
    // Of one that was cut short.
    if (const auto cleared = remove_with_journals(unmarked, files); !cleared) return cleared;
    const auto copied = copy_by_way_of(unmarked, db, copy, now, files);
    if (!copied) (void)remove_with_journals(unmarked, files);
    return copied;
}

Result<void> remove_with_journals(const std::filesystem::path& file, Files& files) {
    for (const char* ending : {"-journal", "-wal", "-shm", ".in-doubt", ""}) {
        const auto removed = files.remove(file.string() + ending);
        if (!removed) return removed;
    }
    return {};
}

Result<void> doubt_what_happened_before(Database& db, Instant now) {
    const auto until = end_of_lost_life(db, now);
    if (!until) return until.error();
    return remember(db, restored, std::to_string(micros(*until)));
}

Result<void> doubt_what_a_copy_says(Database& db, Instant now) {
    const auto copied = remembered(db, mark);
    if (!copied) return copied.error();
    if (!*copied) return {};
    const auto kept = doubt_what_happened_before(db, now);
    if (!kept) return kept.error();
    const auto made_at = moment_at(db, mark);
    if (!made_at) return made_at.error();
    // What is confirmed is looked at before it is replaced anyway. A request of the life that was lost may
    // still be on its way, which does no harm where conditions are known to work.
    const auto doubted = db.run(
        "UPDATE deliveries SET outcome_unknown = 1 WHERE state NOT IN ('confirmed', 'withdrawn') "
        "OR (state = 'withdrawn' AND attempts > 0);"
        "UPDATE clinics SET unguarded = 1 WHERE knows_conditions = 0;"
        "DELETE FROM pins WHERE name IN ('copied_us', 'lost_us')");
    if (!doubted) return doubted.error();
    const std::string made = *made_at ? to_text(**made_at) : "an unknown time";
    const auto noted = note(db, {AuditEvent::restored, {}, {}, 0, "copy of " + made}, now);
    if (!noted) return noted;
    return revoke_every_device(db, now);
}

}  // namespace nightferry::logbook
