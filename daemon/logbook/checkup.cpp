#include "daemon/logbook/checkup.hpp"

#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

constexpr std::size_t faults_max = 20;
constexpr std::int64_t counts_since = 5;  // The version that brought each table.
constexpr std::int64_t audit_since = 8;
constexpr std::int64_t rows_per_page = 1000;

class Examination {
 public:
    explicit Examination(Database& db) : db_(db) {}

    Result<Checkup> run() {
        for (const auto part : {&Examination::look_at_pages, &Examination::look_at_references,
                                &Examination::look_at_entries, &Examination::look_at_deliveries,
                                &Examination::look_at_counts, &Examination::follow_the_audit_trail}) {
            const auto done = (this->*part)();
            if (!done && done.error().code == Errc::corrupt) {
                found_.faults.push_back(done.error().detail);
                break;
            }
            if (!done) return done.error();
            // What stands on damaged pages says nothing.
            if (part == &Examination::look_at_pages && !found_.is_sound()) break;
        }
        return std::move(found_);
    }

 private:
    void fault(std::string words) {
        if (found_.faults.size() < faults_max) found_.faults.push_back(std::move(words));
    }

    // What the query yields, each in words of its own.
    template <class Words>
    Result<void> faults_of(std::string_view sql, Words words) {
        auto query = db_.prepare(sql);
        if (!query) return query.error();
        while (found_.faults.size() < faults_max) {
            const auto row = query->step();
            if (!row) return row.error();
            if (!*row) break;
            fault(words(*query));
        }
        return {};
    }

    Result<void> count(std::string_view sql, std::int64_t& into) {
        const auto number = db_.integer(sql);
        if (!number) return number.error();
        into = *number;
        return {};
    }

    Result<void> look_at_pages() {
        if (const auto read = count("PRAGMA user_version", found_.version); !read) return read;
        auto check = db_.prepare("PRAGMA integrity_check(20)");
        if (!check) return check.error();
        while (true) {
            const auto row = check->step();
            if (!row) return row.error();
            if (!*row) return {};
            if (check->text(0) != "ok") fault("the file is damaged: " + check->text(0));
        }
    }

    Result<void> look_at_references() {
        const auto marks = faults_of(
            "SELECT name FROM pins WHERE name IN ('copied_us', 'lost_us', 'restored_us') "
            "AND (value = '' OR value GLOB '*[^0-9]*' OR length(value) > 18)",
            [](Statement& row) { return "what is remembered as " + row.text(0) + " is no time"; });
        if (!marks) return marks;
        return faults_of("PRAGMA foreign_key_check", [](Statement& row) {
            return "a row of " + row.text(0) + " belongs to something in " + row.text(2) +
                   " that is not there";
        });
    }

    Result<void> look_at_entries();
    void look_at_entry(const std::string& id, std::int64_t current, bool retracted, const std::string& person,
                       const std::vector<KnownRevision>& known);

    Result<void> look_at_deliveries() {
        if (const auto read = count("SELECT count(*) FROM deliveries", found_.deliveries); !read) return read;
        if (const auto read = count("SELECT count(*) FROM receipts", found_.receipts); !read) return read;
        const auto wanted = faults_of(
            "SELECT entry_id, clinic FROM deliveries d WHERE NOT EXISTS (SELECT 1 FROM revisions r "
            "WHERE r.entry_id = d.entry_id AND r.revision = d.wanted)",
            [](Statement& row) {
                return "the delivery of " + row.text(0) + " to " + row.text(1) +
                       " wants a revision that is not there";
            });
        if (!wanted) return wanted;
        return faults_of(
            "SELECT entry_id, clinic FROM receipts r WHERE NOT EXISTS (SELECT 1 FROM deliveries d "
            "WHERE d.clinic = r.clinic AND d.entry_id = r.entry_id)",
            [](Statement& row) {
                return "the receipt for " + row.text(0) + " from " + row.text(1) + " belongs to no delivery";
            });
    }

    Result<void> look_at_counts() {
        if (found_.version < counts_since) return {};
        return faults_of(
            "SELECT clinic, state, sum(kept), sum(found) FROM ("
            "SELECT clinic, state, number AS kept, 0 AS found FROM delivery_counts UNION ALL "
            "SELECT clinic, state, 0, count(*) FROM deliveries GROUP BY clinic, state) "
            "GROUP BY clinic, state HAVING sum(kept) <> sum(found)",
            [](Statement& row) {
                return "for " + row.text(0) + " " + row.text(2) + " deliveries are counted as " +
                       row.text(1) + ", but there are " + row.text(3);
            });
    }

    // That the words by which something was settled are still those of the audit trail. Those of somebody who
    // was erased are gone.
    Result<void> look_at_closing(const AuditRow& row) {
        const auto digest = row.detail.find(" reason sha256:");
        if (row.event != word_for(AuditEvent::closed) || digest == std::string::npos) return {};
        auto closing = db_.prepare(
            "SELECT closed_by, reason FROM closings WHERE clinic = ?1 AND entry_id = ?2 AND revision = ?3 "
            "AND closed_us = ?4");
        if (!closing) return closing.error();
        closing->bind(1, row.clinic).bind(2, row.entry).bind(3, row.revision).bind(4, micros(row.at));
        const auto found = closing->step();
        if (!found) return found.error();
        if (*found && row.detail != "by " + closing->text(0) + " reason " + digest_of(closing->text(1)))
            fault("by whom or why " + row.entry + " was settled with " + row.clinic + " is not what it was");
        return {};
    }

    Result<void> follow_the_audit_trail() {
        if (found_.version < audit_since) return {};
        AuditTrail trail(db_);
        ChainCheck chain;
        for (bool more = true; more;) {
            const auto rows = trail.rows(chain.rows(), rows_per_page);
            if (!rows) return rows.error();
            more = !rows->empty();
            for (const AuditRow& row : *rows) {
                if (const auto looked = look_at_closing(row); !looked) return looked;
                if (auto broken = chain.next(row)) {
                    fault("the chain of the audit trail is broken: " + *broken);
                    more = false;
                    break;
                }
            }
        }
        found_.audit_rows = chain.rows();
        found_.audit_hash = chain.newest();
        return {};
    }

    Database& db_;
    Checkup found_;
};

Result<void> Examination::look_at_entries() {
    auto query = db_.prepare(
        "SELECT e.entry_id, e.current_revision, e.retracted, e.person, r.revision, r.accepted_us, r.body "
        "FROM entries e LEFT JOIN revisions r ON r.entry_id = e.entry_id ORDER BY e.entry_id, r.revision");
    if (!query) return query.error();
    std::string id;
    std::string person;
    std::int64_t current = 0;
    bool retracted = false;
    std::vector<KnownRevision> known;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (found_.entries > 0 && (!*row || query->text(0) != id))
            look_at_entry(id, current, retracted, person, known);
        if (!*row) return {};
        if (found_.entries == 0 || query->text(0) != id) {
            ++found_.entries;
            id = query->text(0);
            current = query->integer(1);
            retracted = query->integer(2) != 0;
            person = query->text(3);
            known.clear();
        }
        if (query->is_null(4)) continue;
        ++found_.revisions;
        const Instant accepted = instant_from(query->integer(5));
        if (!found_.newest || *found_.newest < accepted) found_.newest = accepted;
        auto submission = entry::from_body(query->text(6));
        if (submission) {
            known.push_back({query->integer(4), std::move(*submission)});
        } else {
            fault("revision " + query->text(4) + " of the entry " + id + " cannot be read");
        }
    }
}

void Examination::look_at_entry(const std::string& id, std::int64_t current, bool retracted,
                                const std::string& person, const std::vector<KnownRevision>& known) {
    if (known.empty()) return fault("of the entry " + id + " there is no revision that can be read");
    const KnownRevision& counts = current_of(known);
    const bool is_taken_back = !counts.submission.entry;
    if (counts.revision != current || is_taken_back != retracted)
        fault("of the entry " + id + " another revision is in effect than is noted");
    for (const KnownRevision& one : known) {
        if (one.submission.id.to_string() != id ||
            (one.submission.entry && one.submission.entry->person != person))
            fault("revision " + std::to_string(one.revision) + " of the entry " + id +
                  " is of another entry or person");
    }
}

}  // namespace

Result<Checkup> check_up(Database& db) {
    return Examination(db).run();
}

}  // namespace nightferry::logbook
