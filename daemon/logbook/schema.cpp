#include "daemon/logbook/schema.hpp"

#include <array>
#include <string>

#include "daemon/logbook/copied.hpp"

namespace nightferry::logbook {

namespace {

// Released steps are never edited; a change is a new step at the end.
constexpr std::array migrations{
    // 1: entries with their revisions, deliveries with their receipts, clinics, starts.
    R"sql(
CREATE TABLE entries (
    entry_id         TEXT    NOT NULL PRIMARY KEY,
    kind             TEXT    NOT NULL,
    person           TEXT    NOT NULL,
    happened_us      INTEGER NOT NULL,
    current_revision INTEGER NOT NULL,
    retracted        INTEGER NOT NULL CHECK (retracted IN (0, 1))
) STRICT, WITHOUT ROWID;
CREATE INDEX entries_by_time ON entries (happened_us, entry_id);

-- Append-only. Revision numbers count arrivals; which revision is in effect, the bodies themselves decide.
CREATE TABLE revisions (
    entry_id    TEXT    NOT NULL REFERENCES entries (entry_id),
    revision    INTEGER NOT NULL,
    accepted_us INTEGER NOT NULL,
    source      TEXT    NOT NULL,
    body        TEXT    NOT NULL,
    PRIMARY KEY (entry_id, revision)
) STRICT, WITHOUT ROWID;

-- One entry's way to one clinic. `wanted` is the revision the clinic should have.
CREATE TABLE deliveries (
    clinic          TEXT    NOT NULL,
    entry_id        TEXT    NOT NULL REFERENCES entries (entry_id),
    place           INTEGER NOT NULL,
    wanted          INTEGER NOT NULL,
    state           TEXT    NOT NULL CHECK (state IN ('waiting', 'under_way', 'confirmed', 'set_aside')),
    attempts        INTEGER NOT NULL,
    outcome_unknown INTEGER NOT NULL CHECK (outcome_unknown IN (0, 1)),
    words           TEXT    NOT NULL,
    changed_us      INTEGER NOT NULL,
    PRIMARY KEY (clinic, entry_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX deliveries_by_state ON deliveries (clinic, state, place);
CREATE INDEX deliveries_by_place ON deliveries (clinic, place);

-- The clinic's answers, kept for good.
CREATE TABLE receipts (
    clinic        TEXT    NOT NULL,
    entry_id      TEXT    NOT NULL,
    revision      INTEGER NOT NULL,
    resource_type TEXT    NOT NULL,
    resource_id   TEXT    NOT NULL,
    version_id    TEXT    NOT NULL,
    http_status   INTEGER NOT NULL,
    received_us   INTEGER NOT NULL,
    PRIMARY KEY (clinic, entry_id, revision)
) STRICT, WITHOUT ROWID;

CREATE TABLE clinics (
    clinic               TEXT    NOT NULL PRIMARY KEY,
    failures             INTEGER NOT NULL,
    not_before_us        INTEGER NOT NULL,
    pass_started_us      INTEGER NOT NULL,
    pass_ended_us        INTEGER NOT NULL,
    pass_confirmed       INTEGER NOT NULL,
    pass_set_aside       INTEGER NOT NULL,
    words                TEXT    NOT NULL
) STRICT, WITHOUT ROWID;

-- Settings on which stored things depend.
CREATE TABLE pins (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE starts (
    start_number INTEGER PRIMARY KEY,
    started_us   INTEGER NOT NULL
) STRICT;
)sql",
    // 2: deliveries that a person closed. A CHECK cannot be changed, so their table is made anew.
    R"sql(
CREATE TABLE deliveries_anew (
    clinic          TEXT    NOT NULL,
    entry_id        TEXT    NOT NULL REFERENCES entries (entry_id),
    place           INTEGER NOT NULL,
    wanted          INTEGER NOT NULL,
    state           TEXT    NOT NULL
                    CHECK (state IN ('waiting', 'under_way', 'confirmed', 'set_aside', 'closed')),
    attempts        INTEGER NOT NULL,
    outcome_unknown INTEGER NOT NULL CHECK (outcome_unknown IN (0, 1)),
    words           TEXT    NOT NULL,
    changed_us      INTEGER NOT NULL,
    PRIMARY KEY (clinic, entry_id)
) STRICT, WITHOUT ROWID;
INSERT INTO deliveries_anew
    SELECT clinic, entry_id, place, wanted, state, attempts, outcome_unknown, words, changed_us FROM deliveries;
DROP TABLE deliveries;
ALTER TABLE deliveries_anew RENAME TO deliveries;
CREATE INDEX deliveries_by_state ON deliveries (clinic, state, place);
CREATE INDEX deliveries_by_place ON deliveries (clinic, place);

-- Who closed a delivery and why, kept for good. A revision is closed at most once: only a later one opens it.
CREATE TABLE closings (
    clinic    TEXT    NOT NULL,
    entry_id  TEXT    NOT NULL REFERENCES entries (entry_id),
    revision  INTEGER NOT NULL,
    closed_us INTEGER NOT NULL,
    closed_by TEXT    NOT NULL,
    reason    TEXT    NOT NULL,
    PRIMARY KEY (clinic, entry_id, revision)
) STRICT, WITHOUT ROWID;
)sql",
    // 3: what became of flags, append-only.
    R"sql(
CREATE TABLE flag_events (
    number     INTEGER PRIMARY KEY,
    person     TEXT    NOT NULL,
    flag_key   TEXT    NOT NULL,
    event      TEXT    NOT NULL CHECK (event IN ('raised', 'cleared', 'settled')),
    at_us      INTEGER NOT NULL,
    level      TEXT    NOT NULL CHECK (level IN ('note', 'contact', 'urgent')),
    about_us   INTEGER NOT NULL,
    reason     TEXT    NOT NULL,
    settled_by TEXT    NOT NULL,
    words      TEXT    NOT NULL
) STRICT;
CREATE INDEX flag_events_by_person ON flag_events (person, number);
CREATE INDEX entries_by_person ON entries (person);
)sql",
    // 4: what went to the back of the queue, what a clinic confirmed and then lost, the order of receipts,
    // the clinic's clock.
    R"sql(
ALTER TABLE deliveries ADD COLUMN troubled INTEGER NOT NULL DEFAULT 0 CHECK (troubled IN (0, 1));
ALTER TABLE deliveries ADD COLUMN lost INTEGER NOT NULL DEFAULT 0 CHECK (lost IN (0, 1));
CREATE INDEX deliveries_fresh ON deliveries (clinic, place) WHERE state = 'waiting' AND troubled = 0;
CREATE INDEX deliveries_under_way ON deliveries (clinic, entry_id) WHERE state = 'under_way';

-- How many receipts of this clinic there were by then, and how many when the write was tried first: it has
-- happened in between. `since` is the latter of what is under way.
ALTER TABLE deliveries ADD COLUMN since INTEGER NOT NULL DEFAULT 0;
ALTER TABLE receipts ADD COLUMN number INTEGER NOT NULL DEFAULT 0;
ALTER TABLE receipts ADD COLUMN written_after INTEGER NOT NULL DEFAULT 0;
UPDATE receipts SET number = counted.number, written_after = counted.number - 1 FROM (
    SELECT clinic, entry_id, revision,
           row_number() OVER (PARTITION BY clinic ORDER BY received_us, entry_id, revision) AS number
    FROM receipts) AS counted
WHERE receipts.clinic = counted.clinic AND receipts.entry_id = counted.entry_id
  AND receipts.revision = counted.revision;
CREATE INDEX receipts_by_number ON receipts (clinic, number);

ALTER TABLE clinics ADD COLUMN skew_us INTEGER NOT NULL DEFAULT 0;

-- Whatever is looked up one by one, or shown in part, has to cost the same however long the logbook is.
CREATE INDEX deliveries_by_entry ON deliveries (entry_id);
CREATE INDEX entries_by_person_and_time ON entries (person, happened_us);
)sql",
    // 5: how the queue stands, kept as it changes, so that asking costs the same however long it is; what
    // else
    // the next process has to know of a clinic.
    R"sql(
ALTER TABLE clinics ADD COLUMN unguarded INTEGER NOT NULL DEFAULT 0 CHECK (unguarded IN (0, 1));
ALTER TABLE clinics ADD COLUMN provenance_apart INTEGER NOT NULL DEFAULT 0 CHECK (provenance_apart IN (0, 1));
ALTER TABLE clinics ADD COLUMN knows_conditions INTEGER NOT NULL DEFAULT 0 CHECK (knows_conditions IN (0, 1));

-- When the wanted revision was accepted.
ALTER TABLE deliveries ADD COLUMN wanted_us INTEGER NOT NULL DEFAULT 0;
UPDATE deliveries SET wanted_us = r.accepted_us FROM revisions AS r
WHERE r.entry_id = deliveries.entry_id AND r.revision = deliveries.wanted;
CREATE INDEX deliveries_unfinished ON deliveries (clinic, wanted_us) WHERE state IN ('waiting', 'under_way');

-- How many deliveries a clinic has in each state. The triggers alone write it.
CREATE TABLE delivery_counts (
    clinic TEXT    NOT NULL,
    state  TEXT    NOT NULL,
    number INTEGER NOT NULL,
    PRIMARY KEY (clinic, state)
) STRICT, WITHOUT ROWID;
INSERT INTO delivery_counts SELECT clinic, state, count(*) FROM deliveries GROUP BY clinic, state;
CREATE TRIGGER deliveries_added AFTER INSERT ON deliveries BEGIN
    INSERT INTO delivery_counts VALUES (NEW.clinic, NEW.state, 1) ON CONFLICT DO UPDATE SET number = number + 1;
END;
CREATE TRIGGER deliveries_changed AFTER UPDATE OF state ON deliveries WHEN OLD.state <> NEW.state BEGIN
    UPDATE delivery_counts SET number = number - 1 WHERE clinic = OLD.clinic AND state = OLD.state;
    INSERT INTO delivery_counts VALUES (NEW.clinic, NEW.state, 1) ON CONFLICT DO UPDATE SET number = number + 1;
END;
)sql",
    // 6: which patient a clinic means by an identifier.
    R"sql(
CREATE TABLE known_patients (
    clinic     TEXT NOT NULL,
    person     TEXT NOT NULL,
    identifier TEXT NOT NULL,
    reference  TEXT NOT NULL,
    PRIMARY KEY (clinic, person)
) STRICT, WITHOUT ROWID;
)sql",
    // 7: what clinics' servers listed as ordered: every state in which an order was seen, and how the
    // readings
    // went.
    R"sql(
CREATE TABLE clinic_orders (
    number      INTEGER PRIMARY KEY,
    clinic      TEXT    NOT NULL,
    person      TEXT    NOT NULL,
    resource_id TEXT    NOT NULL,
    status      TEXT    NOT NULL,
    body        TEXT    NOT NULL,
    from_us     INTEGER NOT NULL,
    until_us    INTEGER
) STRICT;
CREATE INDEX clinic_orders_by_person ON clinic_orders (person, clinic, number);
CREATE TABLE order_readings (
    clinic   TEXT    NOT NULL,
    person   TEXT    NOT NULL,
    first_us INTEGER,
    last_us  INTEGER,
    others   INTEGER NOT NULL,
    words    TEXT    NOT NULL,
    PRIMARY KEY (clinic, person)
) STRICT, WITHOUT ROWID;
)sql",
    // 8: what each clinic may have, deliveries that are withdrawn, the audit trail. The pins on whom a clinic
    // was owed last give way to the policies. A CHECK cannot be changed, so the deliveries' table is made
    // anew.
    R"sql(
-- Append-only: the one with the highest number is in force. `back_to_us`: it counts for what was recorded
-- before it, too, as far as that began at or after this.
CREATE TABLE sharing_policies (
    clinic     TEXT    NOT NULL,
    number     INTEGER NOT NULL,
    since_us   INTEGER NOT NULL,
    back_to_us INTEGER,
    policy     TEXT    NOT NULL,
    PRIMARY KEY (clinic, number)
) STRICT, WITHOUT ROWID;
DELETE FROM pins WHERE name >= 'shared:' AND name < 'shared;';

CREATE TABLE deliveries_anew (
    clinic          TEXT    NOT NULL,
    entry_id        TEXT    NOT NULL REFERENCES entries (entry_id),
    place           INTEGER NOT NULL,
    wanted          INTEGER NOT NULL,
    state           TEXT    NOT NULL CHECK (state IN ('waiting', 'under_way', 'confirmed', 'set_aside', 'closed',
                                                      'withdrawn')),
    attempts        INTEGER NOT NULL,
    outcome_unknown INTEGER NOT NULL CHECK (outcome_unknown IN (0, 1)),
    words           TEXT    NOT NULL,
    changed_us      INTEGER NOT NULL,
    troubled        INTEGER NOT NULL DEFAULT 0 CHECK (troubled IN (0, 1)),
    lost            INTEGER NOT NULL DEFAULT 0 CHECK (lost IN (0, 1)),
    since           INTEGER NOT NULL DEFAULT 0,
    wanted_us       INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (clinic, entry_id)
) STRICT, WITHOUT ROWID;
INSERT INTO deliveries_anew SELECT clinic, entry_id, place, wanted, state, attempts, outcome_unknown, words, changed_us,
    troubled, lost, since, wanted_us FROM deliveries;
DROP TABLE deliveries;
ALTER TABLE deliveries_anew RENAME TO deliveries;
CREATE INDEX deliveries_by_state ON deliveries (clinic, state, place);
CREATE INDEX deliveries_by_place ON deliveries (clinic, place);
CREATE INDEX deliveries_fresh ON deliveries (clinic, place) WHERE state = 'waiting' AND troubled = 0;
CREATE INDEX deliveries_under_way ON deliveries (clinic, entry_id) WHERE state = 'under_way';
CREATE INDEX deliveries_by_entry ON deliveries (entry_id);
CREATE INDEX deliveries_unfinished ON deliveries (clinic, wanted_us) WHERE state IN ('waiting', 'under_way');
CREATE TRIGGER deliveries_added AFTER INSERT ON deliveries BEGIN
    INSERT INTO delivery_counts VALUES (NEW.clinic, NEW.state, 1) ON CONFLICT DO UPDATE SET number = number + 1;
END;
CREATE TRIGGER deliveries_changed AFTER UPDATE OF state ON deliveries WHEN OLD.state <> NEW.state BEGIN
    UPDATE delivery_counts SET number = number - 1 WHERE clinic = OLD.clinic AND state = OLD.state;
    INSERT INTO delivery_counts VALUES (NEW.clinic, NEW.state, 1) ON CONFLICT DO UPDATE SET number = number + 1;
END;

-- What became of everything, in ids and references. `hash`: audit.hpp.
CREATE TABLE audit (
    number   INTEGER PRIMARY KEY,
    at_us    INTEGER NOT NULL,
    event    TEXT    NOT NULL,
    clinic   TEXT    NOT NULL,
    entry_id TEXT    NOT NULL,
    revision INTEGER NOT NULL,
    detail   TEXT    NOT NULL,
    hash     TEXT    NOT NULL
) STRICT;
CREATE TRIGGER audit_is_not_changed BEFORE UPDATE ON audit BEGIN
    SELECT raise(ABORT, 'the audit trail is append-only');
END;
CREATE TRIGGER audit_is_not_deleted BEFORE DELETE ON audit BEGIN
    SELECT raise(ABORT, 'the audit trail is append-only');
END;
)sql",
    // 9: of whom a clinic gets nothing, because it is not clear which patient it means.
    R"sql(
ALTER TABLE known_patients ADD COLUMN left_out_because TEXT NOT NULL DEFAULT '';
ALTER TABLE known_patients ADD COLUMN left_out_us INTEGER NOT NULL DEFAULT 0;
ALTER TABLE known_patients ADD COLUMN left_out_reference TEXT NOT NULL DEFAULT '';
)sql",
    // 10: how the newest pass ended, which only its words told before.
    R"sql(
ALTER TABLE clinics ADD COLUMN pass_result TEXT CHECK (pass_result IN ('all_sent', 'stopped', 'out_of_time'));
UPDATE clinics SET pass_result = CASE
    WHEN words LIKE 'stopped: %' THEN 'stopped'
    WHEN words LIKE 'the window closed; %' THEN 'out_of_time'
    ELSE 'all_sent' END
WHERE pass_ended_us > 0 AND pass_ended_us >= pass_started_us;
)sql",
    // 11: the phones that may use the page, by the SHA-256 of what each shows.
    R"sql(
CREATE TABLE devices (
    device_id  TEXT    NOT NULL PRIMARY KEY,
    name       TEXT    NOT NULL,
    carer      TEXT    NOT NULL,
    token_hash TEXT    NOT NULL,
    paired_us  INTEGER NOT NULL,
    revoked_us INTEGER,
    seen_on    TEXT    NOT NULL
) STRICT, WITHOUT ROWID;
)sql",
};

Result<void> keep_a_copy(Database& db, const std::filesystem::path& file, std::int64_t version, Instant now,
                         Files& files) {
    return copy_with_mark(db, file.string() + ".before-v" + std::to_string(version + 1), now, files);
}

}  // namespace

std::int64_t schema_version() {
    return static_cast<std::int64_t>(migrations.size());
}

Result<void> recognise(Database& db) {
    const auto id = db.integer("PRAGMA application_id");
    if (!id) return id.error();
    const auto version = db.integer("PRAGMA user_version");
    if (!version) return version.error();
    const auto tables = db.integer("SELECT count(*) FROM sqlite_schema");
    if (!tables) return tables.error();
    const bool is_new = *tables == 0 && *id == 0 && *version == 0;
    if (!is_new && *id != application_id) {
        return Error{Errc::corrupt,
                     "the file in the logbook's place belongs to something else; it was left as it is"};
    }
    if (*version > schema_version()) {
        return Error{Errc::corrupt, "the logbook was written by a newer nightferryd (version " +
                                        std::to_string(*version) + ", this one knows " +
                                        std::to_string(schema_version()) +
                                        "); install the newer program again or restore a backup"};
    }
    return {};
}

Result<void> migrate(Database& db, const std::filesystem::path& file, Instant now, Files& files) {
    const auto version = db.integer("PRAGMA user_version");
    if (!version) return version.error();
    if (*version == schema_version()) return {};
    if (*version > 0) {
        const auto kept = keep_a_copy(db, file, *version, now, files);
        if (!kept) return kept.error();
    }
    auto transaction = Transaction::begin(db);
    if (!transaction) return transaction.error();
    for (std::int64_t step = *version; step < schema_version(); ++step) {
        const auto done = db.run(migrations[static_cast<std::size_t>(step)]);
        if (!done) return done.error();
    }
    const auto marked = db.run("PRAGMA application_id=" + std::to_string(application_id) +
                               "; PRAGMA user_version=" + std::to_string(schema_version()));
    if (!marked) return marked.error();
    return transaction->commit();
}

}  // namespace nightferry::logbook
