-- A logbook of version 3, with something in every table. The tables are as the program of that time made
-- them. Never changed: it shows that files of that version are still taken over.
BEGIN TRANSACTION;
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
INSERT INTO "clinics" VALUES('north',2,1792364400000000,1792357200000000,1792357204000000,4,1,'HTTP 503');
CREATE TABLE closings (
    clinic    TEXT    NOT NULL,
    entry_id  TEXT    NOT NULL REFERENCES entries (entry_id),
    revision  INTEGER NOT NULL,
    closed_us INTEGER NOT NULL,
    closed_by TEXT    NOT NULL,
    reason    TEXT    NOT NULL,
    PRIMARY KEY (clinic, entry_id, revision)
) STRICT, WITHOUT ROWID;
INSERT INTO "closings" VALUES('north','0a1b2c3d-0000-5000-8000-000000000008',1,1792360800000000,'marlow','they keep theirs');
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
    changed_us      INTEGER NOT NULL,
    PRIMARY KEY (clinic, entry_id)
) STRICT, WITHOUT ROWID;
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000001',1,2,'confirmed',2,0,'',1792357200000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000002',5,1,'waiting',0,0,'',1792357200000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000003',6,1,'waiting',3,1,'HTTP 503',1792357200000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000004',2,2,'confirmed',2,0,'',1792357200000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000005',3,1,'set_aside',1,0,'HTTP 422: unknown code',1792357200000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000006',4,1,'under_way',1,0,'',1792357200000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000007',7,1,'waiting',0,0,'',1792357200000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000008',8,1,'closed',1,0,'HTTP 409',1792357200000000);
CREATE TABLE entries (
    entry_id         TEXT    NOT NULL PRIMARY KEY,
    kind             TEXT    NOT NULL,
    person           TEXT    NOT NULL,
    happened_us      INTEGER NOT NULL,
    current_revision INTEGER NOT NULL,
    retracted        INTEGER NOT NULL CHECK (retracted IN (0, 1))
) STRICT, WITHOUT ROWID;
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000001','dose_given','juniper',1792306800000000,2,0);
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000002','weight','juniper',1792307100000000,1,0);
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000003','finding','juniper',1792350000000000,1,0);
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000004','weight','juniper',1792307400000000,2,1);
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000005','dose_not_given','juniper',1792350000000000,1,0);
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000006','vial_opened','juniper',1792306200000000,1,0);
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000007','summary','juniper',1792364400000000,1,0);
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000008','weight','juniper',1792220400000000,1,0);
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
INSERT INTO "flag_events" VALUES(1,'juniper','missed:2026-10-18T20:00','raised',1792382400000000,'note',1792378800000000,'a dose was forgotten','','');
INSERT INTO "flag_events" VALUES(2,'juniper','missed:2026-10-18T20:00','settled',1792418400000000,'note',1792378800000000,'a dose was forgotten','tove','phoned the clinic');
CREATE TABLE pins (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO "pins" VALUES('clinic:north','https://clinic.example:443/fhir');
INSERT INTO "pins" VALUES('hub:name','test-home');
INSERT INTO "pins" VALUES('shared:north','juniper ');
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
INSERT INTO "receipts" VALUES('north','0a1b2c3d-0000-5000-8000-000000000001',1,'MedicationAdministration','m1','1',201,1792357200000001);
INSERT INTO "receipts" VALUES('north','0a1b2c3d-0000-5000-8000-000000000001',2,'MedicationAdministration','m1','2',200,1792357200000003);
INSERT INTO "receipts" VALUES('north','0a1b2c3d-0000-5000-8000-000000000004',1,'Observation','o1','1',201,1792357200000002);
INSERT INTO "receipts" VALUES('north','0a1b2c3d-0000-5000-8000-000000000004',2,'Observation','o1','2',200,1792357200000004);
CREATE TABLE revisions (
    entry_id    TEXT    NOT NULL REFERENCES entries (entry_id),
    revision    INTEGER NOT NULL,
    accepted_us INTEGER NOT NULL,
    source      TEXT    NOT NULL,
    body        TEXT    NOT NULL,
    PRIMARY KEY (entry_id, revision)
) STRICT, WITHOUT ROWID;
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000001',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000001","type":"dose_given","person":"juniper","time":"2026-10-18T08:00:00+01:00","by":"marlow","medicine":"enoxaparin-100","amount":0.18,"unit":"mL","region":"thigh","side":"left","vial":"V3","note":"after breakfast","recorded_by":"marlow"}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000001',2,1792353600000001,'local','{"action":"amend","id":"0a1b2c3d-0000-5000-8000-000000000001","type":"dose_given","person":"juniper","time":"2026-10-18T08:00:00+01:00","by":"marlow","medicine":"enoxaparin-100","amount":0.2,"unit":"mL","region":"thigh","side":"left","vial":"V3","note":"after breakfast","recorded":"2026-10-18T09:00:00+01:00","recorded_by":"tove","reason":"typing slip"}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000002',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000002","type":"weight","person":"juniper","time":"2026-10-18T08:05:00+01:00","by":"marlow","kg":18.4,"how":"measured","recorded_by":"marlow"}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000003',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000003","type":"finding","person":"juniper","time":"2026-10-18T20:00:00+01:00","by":"marlow","finding":"bruise","present":true,"region":"thigh","side":"left","length_cm":1.5,"dose":"0a1b2c3d-0000-5000-8000-000000000001","recorded_by":"marlow"}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000004',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000004","type":"weight","person":"juniper","time":"2026-10-18T08:10:00+01:00","by":"marlow","kg":81.4,"how":"estimated","recorded_by":"marlow"}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000004',2,1792353600000001,'local','{"action":"retract","id":"0a1b2c3d-0000-5000-8000-000000000004","recorded":"2026-10-18T09:10:00+01:00","recorded_by":"tove","reason":"another child"}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000005',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000005","type":"dose_not_given","person":"juniper","time":"2026-10-18T20:00:00+01:00","by":"marlow","medicine":"enoxaparin-100","why":"forgot","recorded_by":"marlow"}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000006',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000006","type":"vial_opened","person":"juniper","time":"2026-10-18T07:50:00+01:00","by":"marlow","medicine":"enoxaparin-100","vial":"V3","volume_ml":3,"lot":"L1","expires":"2027-03","recorded_by":"marlow"}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000007',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000007","type":"summary","person":"juniper","time":"2026-10-19T00:00:00+01:00","by":"","of":"day","first":"2026-10-18","last":"2026-10-18","begins":"2026-10-18T00:00:00+01:00","counts":{"ordered":2,"given":1,"filled":1,"on_time":1,"early":0,"late":0,"very_late":0,"missed":1,"no_record":0,"held":0,"extra":0,"provisional":0,"near_time":1,"wide_time":1,"as_ordered_amount":1,"days":1,"days_as_ordered":0},"contents":[{"medicine":"enoxaparin-100","given":18,"ordered":36}],"limits_min":{"on_time":60,"late":180,"near":60,"wide":180},"recorded":"2026-10-19T02:00:01+01:00","recorded_by":""}');
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000008',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000008","type":"weight","person":"juniper","time":"2026-10-17T08:00:00+01:00","by":"marlow","kg":18.3,"how":"measured","recorded_by":"marlow"}');
CREATE TABLE starts (
    start_number INTEGER PRIMARY KEY,
    started_us   INTEGER NOT NULL
) STRICT;
INSERT INTO "starts" VALUES(1,1792350000000000);
INSERT INTO "starts" VALUES(2,1792353600000000);
CREATE INDEX entries_by_time ON entries (happened_us, entry_id);
CREATE INDEX deliveries_by_state ON deliveries (clinic, state, place);
CREATE INDEX deliveries_by_place ON deliveries (clinic, place);
CREATE INDEX flag_events_by_person ON flag_events (person, number);
CREATE INDEX entries_by_person ON entries (person);
COMMIT;
PRAGMA application_id = 1313229890;
PRAGMA user_version = 3;
