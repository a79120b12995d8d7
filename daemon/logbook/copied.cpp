#include "daemon/logbook/copied.hpp"

#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/pins.hpp"
#include "daemon/logbook/rewrite.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

constexpr char mark[] = "copied_us";
constexpr char restored[] = "restored_us";

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

Result<void> doubt_what_a_copy_says(Database& db, Instant now) {
    const auto copied = remembered(db, mark);
    if (!copied) return copied.error();
    if (!*copied) return {};
    // What is confirmed is looked at before it is replaced anyway. A request of the life that was lost may
    // still be on its way, which does no harm where conditions are known to work.
    const auto doubted = db.run(
        "UPDATE deliveries SET outcome_unknown = 1 WHERE state NOT IN ('confirmed', 'withdrawn') "
        "OR (state = 'withdrawn' AND attempts > 0);"
        "UPDATE clinics SET unguarded = 1 WHERE knows_conditions = 0;"
        "DELETE FROM pins WHERE name = 'copied_us'");
    if (!doubted) return doubted.error();
    const auto kept = remember(db, restored, std::to_string(micros(now)));
    if (!kept) return kept.error();
    const Instant made = instant_from(std::stoll(**copied));
    return note(db, {AuditEvent::restored, {}, {}, 0, "copy of " + to_text(made)}, now);
}

}  // namespace nightferry::logbook
