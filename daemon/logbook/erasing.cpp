#include "daemon/logbook/erasing.hpp"

#include <array>

#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/failures.hpp"

namespace nightferry::logbook {

namespace {

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
        std::pair{&into.under_way,
                  "SELECT count(*) FROM deliveries d JOIN entries e ON e.entry_id = d.entry_id "
                  "WHERE e.person = ?1 AND d.state = 'under_way'"},
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

// Whatever bears the logbook's name and more, except what the logbook itself uses now.
Result<void> find_copies(const std::filesystem::path& file, Files& files, Traces& into) {
    const auto found = files.list(Beside(file).folder);
    if (!found) return found.error();
    const std::string own = file.filename().string();
    for (const Files::Found& one : *found) {
        const std::string name = one.file.filename().string();
        for (const char* ending :
             {".before-v", ".aside-", ".restoring", ".copying", ".copied", ".rewriting"}) {
            if (name.starts_with(own + ending)) into.copies.push_back(one.file);
        }
    }
    return {};
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
    // What a clinic said last may be about this person.
    return db.run(
        "DELETE FROM delivery_counts; INSERT INTO delivery_counts SELECT clinic, state, count(*) FROM "
        "deliveries GROUP BY clinic, state; UPDATE clinics SET words = ''");
}

// What was removed is overwritten in its pages already; this takes away the pages, and the log of changes.
Result<void> write_anew(Database& db) {
    const auto vacuumed = db.run("VACUUM");
    if (!vacuumed) return vacuumed.error();
    auto checkpoint = db.prepare("PRAGMA wal_checkpoint(TRUNCATE)");
    if (!checkpoint) return checkpoint.error();
    const auto row = checkpoint->step();
    if (!row) return row.error();
    if (checkpoint->integer(0) != 0) return held_elsewhere();
    return {};
}

}  // namespace

Result<Traces> traces_of(Database& db, const std::string& person, const std::filesystem::path& file,
                         Files& files) {
    Traces found;
    if (const auto counted = count_rows(db, person, found); !counted) return counted.error();
    if (const auto counted = count_clinics(db, person, found); !counted) return counted.error();
    if (const auto looked = find_copies(file, files, found); !looked) return looked.error();
    return found;
}

Result<Traces> erase(Database& db, const std::string& person, const std::string& by,
                     const std::string& reason, const std::filesystem::path& file, Instant now,
                     Files& files) {
    auto found = traces_of(db, person, file, files);
    if (!found) return found.error();
    if (found->under_way > 0)
        return Error{Errc::locked,
                     "something of this person is under way to a clinic; try again when the "
                     "pass has ended"};
    {
        auto transaction = Transaction::begin(db);
        if (!transaction) return transaction.error();
        const auto removed = remove_rows(db, person);
        if (!removed) return removed.error();
        const auto noted =
            note(db,
                 {AuditEvent::erased,
                  {},
                  {},
                  0,
                  "entries=" + std::to_string(found->entries) + ";by=" + by + ";reason=" + reason},
                 now);
        if (!noted) return noted.error();
        const auto committed = transaction->commit();
        if (!committed) return committed.error();
    }
    if (const auto written = write_anew(db); !written) return written.error();
    if (found->copies.empty()) return found;
    const auto gone = remove_for_good(files, found->copies);
    if (!gone) return gone.error();
    return found;
}

}  // namespace nightferry::logbook
