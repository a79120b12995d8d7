#include "daemon/logbook/erasing.hpp"

#include <array>

#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/copied.hpp"
#include "daemon/logbook/copies.hpp"
#include "daemon/logbook/opening.hpp"
#include "daemon/logbook/pins.hpp"

namespace nightferry::logbook {

namespace {

constexpr char mark[] = "erasing";

Result<std::int64_t> count(Database& db, std::string_view sql, const std::string& person) {
    auto query = db.prepare(sql);
    if (!query) return query.error();
    const auto row = query->bind(1, person).step();
    if (!row) return row.error();
    return query->integer(0);
}

Result<void> count_rows(Database& db, const std::string& person, Traces& into) {
    const std::array counts{
        std::pair{&into.entries, "SELECT count(*) FROM entries WHERE person = ?1"},
        std::pair{&into.revisions,
                  "SELECT count(*) FROM revisions r JOIN entries e ON e.entry_id = r.entry_id "
                  "WHERE e.person = ?1"},
        std::pair{&into.flags, "SELECT count(*) FROM flag_events WHERE person = ?1"},
        std::pair{&into.orders,
                  "SELECT (SELECT count(*) FROM clinic_orders WHERE person = ?1) + "
                  "(SELECT count(*) FROM order_readings WHERE person = ?1) + "
                  "(SELECT count(*) FROM known_patients WHERE person = ?1)"},
    };
    for (const auto& [number, sql] : counts) {
        const auto found = count(db, sql, person);
        if (!found) return found.error();
        *number = *found;
    }
    return {};
}

Result<void> count_clinics(Database& db, const std::string& person, Traces& into) {
    auto query = db.prepare(
        "SELECT clinic, sum(has), sum(NOT has AND (unsure OR attempts > 0)) FROM (SELECT d.clinic, "
        "d.attempts, "
        "d.outcome_unknown AS unsure, EXISTS (SELECT 1 FROM receipts r WHERE r.clinic = d.clinic AND "
        "r.entry_id = d.entry_id) AS has FROM deliveries d JOIN entries e ON e.entry_id = d.entry_id "
        "WHERE e.person = ?1) GROUP BY clinic ORDER BY clinic");
    if (!query) return query.error();
    query->bind(1, person);
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return {};
        into.clinics.push_back({query->text(0), query->integer(1), query->integer(2)});
    }
}

Result<void> remove_rows(Database& db, const std::string& person) {
    constexpr const char* of_entries = " WHERE entry_id IN (SELECT entry_id FROM entries WHERE person = ?1)";
    const std::array<std::string, 9> removals{
        std::string("DELETE FROM closings") + of_entries,
        std::string("DELETE FROM receipts") + of_entries,
        std::string("DELETE FROM deliveries") + of_entries,
        std::string("DELETE FROM revisions") + of_entries,
        "DELETE FROM flag_events WHERE person = ?1",
        "DELETE FROM clinic_orders WHERE person = ?1",
        "DELETE FROM order_readings WHERE person = ?1",
        "DELETE FROM known_patients WHERE person = ?1",
        "DELETE FROM entries WHERE person = ?1",
    };
    for (const std::string& sql : removals) {
        auto removal = db.prepare(sql);
        if (!removal) return removal.error();
        const auto removed = removal->bind(1, person).run();
        if (!removed) return removed.error();
    }
    // Numbers of receipts are given anew from the highest that is left; what a clinic said last may be about
    // this person.
    return db.run(
        "UPDATE deliveries SET since = min(since, (SELECT coalesce(max(number), 0) FROM receipts r "
        "WHERE r.clinic = deliveries.clinic)) WHERE since > 0;"
        "UPDATE receipts SET written_after = min(written_after, (SELECT max(number) FROM receipts r "
        "WHERE r.clinic = receipts.clinic)) WHERE written_after > 0;"
        "DELETE FROM delivery_counts; INSERT INTO delivery_counts SELECT clinic, state, count(*) FROM "
        "deliveries GROUP BY clinic, state; UPDATE clinics SET words = ''");
}

// Step 2. Whoever hands in again what was erased makes new entries of it, which may be at a clinic already.
Result<void> commit_erasure(Database& db, const Erasure& erasure, std::int64_t entries, Instant now) {
    auto transaction = Transaction::begin(db);
    if (!transaction) return transaction.error();
    // First, as the newest entry may be this person's.
    const auto doubted = doubt_what_happened_before(db, now);
    if (!doubted) return doubted.error();
    const auto removed = remove_rows(db, erasure.person);
    if (!removed) return removed.error();
    const auto begun = remember(db, mark, "begun");
    if (!begun) return begun.error();
    const std::string told =
        "entries=" + std::to_string(entries) + ";by=" + erasure.by + ";reason=" + erasure.reason;
    const auto noted = note(db, {AuditEvent::erased, {}, {}, 0, told}, now);
    if (!noted) return noted.error();
    return transaction->commit();
}

}  // namespace

Result<Traces> traces_of(Database& db, const std::string& person, const std::filesystem::path& file,
                         Files& files) {
    Traces found;
    if (const auto counted = count_rows(db, person, found); !counted) return counted.error();
    if (const auto counted = count_clinics(db, person, found); !counted) return counted.error();
    const auto copies = files_beside(file, files);
    if (!copies) return copies.error();
    for (const Files::Found& one : *copies)
        found.copies.push_back(one.file);
    return found;
}

namespace {

Result<Checkup> look_through(Database& db, const std::string& person, const std::filesystem::path& file,
                             Files& files) {
    const auto left = traces_of(db, person, file, files);
    if (!left) return left.error();
    if (left->is_anything() || !left->copies.empty())
        return Error{Errc::corrupt,
                     "something of the person is still there after it was erased; nobody should rely "
                     "on this erasing, and the maintainers should hear of it"};
    auto checkup = check_up(db);
    if (!checkup || checkup->is_sound()) return checkup;
    return Error{Errc::corrupt,
                 "the person is erased, but the logbook is not sound: " + checkup->faults.front()};
}

}  // namespace

Result<Erased> erase(std::unique_ptr<Database> opened, const std::filesystem::path& file,
                     const Erasure& erasure, Instant now, Files& files) {
    auto found = traces_of(*opened, erasure.person, file, files);
    if (!found) return found.error();
    const std::filesystem::path in_doubt = Beside(file).in_doubt;
    if (const auto marked = leave_mark(files, in_doubt); !marked) return marked.error();
    if (const auto removed = commit_erasure(*opened, erasure, found->entries, now); !removed) {
        // Nothing was changed, and a start must not need the room that is not there.
        if (removed.error().code == Errc::disk_full) (void)remove_for_good(files, {in_doubt});
        return removed.error();
    }
    opened.reset();
    const auto again = open(file, now, files);
    if (!again) {
        return Error{again.error().code,
                     "the entries are erased, but the file still has to be written anew and copies beside it "
                     "to be removed, which the next start of nightferryd does, too: " +
                         again.error().detail};
    }
    auto after = look_through(**again, erasure.person, file, files);
    // Without it the next start only takes a little longer.
    (void)(*again)->close_cleanly();
    if (!after) return after.error();
    return Erased{std::move(*found), std::move(*after)};
}

Result<void> drop_begun_erasing(Database& db) {
    return forget(db, mark);
}

Result<void> finish_erasing(Database& db, const std::filesystem::path& file, Files& files) {
    const auto begun = remembered(db, mark);
    if (!begun) return begun.error();
    if (!*begun) return {};
    const auto found = files_beside(file, files);
    if (!found) return found.error();
    std::vector<std::filesystem::path> copies;
    for (const Files::Found& one : *found)
        copies.push_back(one.file);
    if (!copies.empty()) {
        const auto removed = remove_for_good(files, copies);
        if (!removed) return removed.error();
    }
    return forget(db, mark);
}

}  // namespace nightferry::logbook
