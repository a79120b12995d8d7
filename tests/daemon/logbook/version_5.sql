-- The tables as version 5 of the logbook made them. Kept to show that such files are still taken over.
CREATE TABLE entries (
    entry_id         TEXT    NOT NULL PRIMARY KEY,
    kind             TEXT    NOT NULL,
    person           TEXT    NOT NULL,
    happened_us      INTEGER NOT NULL,
    current_revision INTEGER NOT NULL,
    retracted        INTEGER NOT NULL CHECK (retracted IN (0, 1))
) STRICT, WITHOUT ROWID;
CREATE INDEX entries_by_time ON entries (happened_us, entry_id);
CREATE TABLE revisions (
    entry_id    TEXT    NOT NULL REFERENCES entries (entry_id),
    revision    INTEGER NOT NULL,
    accepted_us INTEGER NOT NULL,
    source      TEXT    NOT NULL,
    body        TEXT    NOT NULL,
    PRIMARY KEY (entry_id, revision)
) STRICT, WITHOUT ROWID;
CREATE TABLE receipts (
    clinic        TEXT    NOT NULL,
    entry_id      TEXT    NOT NULL,
    revision      INTEGER NOT NULL,
    resource_type TEXT    NOT NULL,
    resource_id   TEXT    NOT NULL,
    version_id    TEXT    NOT NULL,
    http_status   INTEGER NOT NULL,
    received_us   INTEGER NOT NULL, number INTEGER NOT NULL DEFAULT 0, written_after INTEGER NOT NULL DEFAULT 0,
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
, skew_us INTEGER NOT NULL DEFAULT 0, unguarded INTEGER NOT NULL DEFAULT 0 CHECK (unguarded IN (0, 1)), provenance_apart INTEGER NOT NULL DEFAULT 0 CHECK (provenance_apart IN (0, 1)), knows_conditions INTEGER NOT NULL DEFAULT 0 CHECK (knows_conditions IN (0, 1))) STRICT, WITHOUT ROWID;
CREATE TABLE pins (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE starts (
    start_number INTEGER PRIMARY KEY,
    started_us   INTEGER NOT NULL
) STRICT;
CREATE TABLE "deliveries" (
    clinic          TEXT    NOT NULL,
    entry_id        TEXT    NOT NULL REFERENCES entries (entry_id),
    place           INTEGER NOT NULL,
    wanted          INTEGER NOT NULL,
    state           TEXT    NOT NULL
                    CHECK (state IN ('waiting', 'under_way', 'confirmed', 'set_aside', 'closed')),
    attempts        INTEGER NOT NULL,
    outcome_unknown INTEGER NOT NULL CHECK (outcome_unknown IN (0, 1)),
    words           TEXT    NOT NULL,
    changed_us      INTEGER NOT NULL, troubled INTEGER NOT NULL DEFAULT 0 CHECK (troubled IN (0, 1)), lost INTEGER NOT NULL DEFAULT 0 CHECK (lost IN (0, 1)), since INTEGER NOT NULL DEFAULT 0, wanted_us INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (clinic, entry_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX deliveries_by_state ON deliveries (clinic, state, place);
CREATE INDEX deliveries_by_place ON deliveries (clinic, place);
CREATE TABLE closings (
    clinic    TEXT    NOT NULL,
    entry_id  TEXT    NOT NULL REFERENCES entries (entry_id),
    revision  INTEGER NOT NULL,
    closed_us INTEGER NOT NULL,
    closed_by TEXT    NOT NULL,
    reason    TEXT    NOT NULL,
    PRIMARY KEY (clinic, entry_id, revision)
) STRICT, WITHOUT ROWID;
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
CREATE INDEX deliveries_fresh ON deliveries (clinic, place) WHERE state = 'waiting' AND troubled = 0;
CREATE INDEX deliveries_under_way ON deliveries (clinic, entry_id) WHERE state = 'under_way';
CREATE INDEX receipts_by_number ON receipts (clinic, number);
CREATE INDEX deliveries_by_entry ON deliveries (entry_id);
CREATE INDEX entries_by_person_and_time ON entries (person, happened_us);
CREATE INDEX deliveries_unfinished ON deliveries (clinic, wanted_us) WHERE state IN ('waiting', 'under_way');
CREATE TABLE delivery_counts (
    clinic TEXT    NOT NULL,
    state  TEXT    NOT NULL,
    number INTEGER NOT NULL,
    PRIMARY KEY (clinic, state)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER deliveries_added AFTER INSERT ON deliveries BEGIN
    INSERT INTO delivery_counts VALUES (NEW.clinic, NEW.state, 1) ON CONFLICT DO UPDATE SET number = number + 1;
END;
CREATE TRIGGER deliveries_changed AFTER UPDATE OF state ON deliveries WHEN OLD.state <> NEW.state BEGIN
    UPDATE delivery_counts SET number = number - 1 WHERE clinic = OLD.clinic AND state = OLD.state;
    INSERT INTO delivery_counts VALUES (NEW.clinic, NEW.state, 1) ON CONFLICT DO UPDATE SET number = number + 1;
END;
PRAGMA application_id=1313229890;
PRAGMA user_version=5;
