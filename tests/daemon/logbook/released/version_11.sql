-- A logbook of version 11, with something in every table. The tables are as the program of that time made
-- them. Never changed: it shows that files of that version are still taken over.
BEGIN TRANSACTION;
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
INSERT INTO "audit" VALUES(1,1792353600000001,'policy','north','',0,'persons=juniper;kinds=dose_given,dose_not_given,finding,weight,vial_opened,summary;from=;notes=yes','a4ec8dd4c32dbeac01ba8ab45646686f997f65fe4448b88caaf14d9d7f36b863');
INSERT INTO "audit" VALUES(2,1792353600000002,'accepted','','0a1b2c3d-0000-5000-8000-000000000001',1,'inbox for north','c80c6fd78ee75b835fa24bacb956e4b9fb5dc09025a6f3a9e81ac295fd78b7ba');
INSERT INTO "audit" VALUES(3,1792353600000003,'sent','north','0a1b2c3d-0000-5000-8000-000000000001',1,'','344e20ad26cbef0d411f835c40e9aa3e78b493afbfe0a81ce831c6e3dddeceda');
INSERT INTO "audit" VALUES(4,1792353600000004,'confirmed','north','0a1b2c3d-0000-5000-8000-000000000001',1,'MedicationAdministration/m1/_history/1','36adcf695f815dd7d657e5b5323e7dda5f4999edf0c1354c53713bf01eb66c75');
INSERT INTO "audit" VALUES(5,1792353600000005,'amended','','0a1b2c3d-0000-5000-8000-000000000001',2,'local','3883c202c6cb10e5eb43caf83e37542860158b133c14aac0f48dae2de708af2e');
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
INSERT INTO "clinic_orders" VALUES(1,'north','juniper','r1','active','{}',1792357200000000,NULL);
CREATE TABLE clinics (
    clinic               TEXT    NOT NULL PRIMARY KEY,
    failures             INTEGER NOT NULL,
    not_before_us        INTEGER NOT NULL,
    pass_started_us      INTEGER NOT NULL,
    pass_ended_us        INTEGER NOT NULL,
    pass_confirmed       INTEGER NOT NULL,
    pass_set_aside       INTEGER NOT NULL,
    words                TEXT    NOT NULL
, skew_us INTEGER NOT NULL DEFAULT 0, unguarded INTEGER NOT NULL DEFAULT 0 CHECK (unguarded IN (0, 1)), provenance_apart INTEGER NOT NULL DEFAULT 0 CHECK (provenance_apart IN (0, 1)), knows_conditions INTEGER NOT NULL DEFAULT 0 CHECK (knows_conditions IN (0, 1)), pass_result TEXT CHECK (pass_result IN ('all_sent', 'stopped', 'out_of_time'))) STRICT, WITHOUT ROWID;
INSERT INTO "clinics" VALUES('north',2,1792364400000000,1792357200000000,1792357204000000,4,1,'HTTP 503',1500000,0,1,1,'stopped');
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
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000001',1,2,'confirmed',2,0,'',1792357200000000,0,0,0,1792353600000001);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000002',5,1,'waiting',0,0,'',1792357200000000,0,0,0,1792353600000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000003',6,1,'waiting',3,1,'HTTP 503',1792357200000000,1,0,2,1792353600000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000004',2,2,'confirmed',2,0,'',1792357200000000,0,0,0,1792353600000001);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000005',3,1,'set_aside',1,0,'HTTP 422: unknown code',1792357200000000,0,0,0,1792353600000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000006',4,1,'under_way',1,0,'',1792357200000000,0,0,0,1792353600000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000007',7,1,'waiting',0,0,'',1792357200000000,0,0,0,1792353600000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000008',8,1,'closed',1,0,'HTTP 409',1792357200000000,0,0,0,1792353600000000);
INSERT INTO "deliveries" VALUES('north','0a1b2c3d-0000-5000-8000-000000000009',9,1,'withdrawn',0,0,'',1792357200000000,0,0,0,1792353600000000);
CREATE TABLE devices (
    device_id  TEXT    NOT NULL PRIMARY KEY,
    name       TEXT    NOT NULL,
    carer      TEXT    NOT NULL,
    token_hash TEXT    NOT NULL,
    paired_us  INTEGER NOT NULL,
    revoked_us INTEGER,
    seen_on    TEXT    NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO "devices" VALUES('k3tw9cfd','Tove''s phone','tove','ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',1792353600000001,NULL,'2026-10-18');
INSERT INTO "devices" VALUES('m4xr7gjh','an old phone','marlow','e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',1792353600000000,1792353600000002,'');
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
INSERT INTO "entries" VALUES('0a1b2c3d-0000-5000-8000-000000000009','weight','juniper',1792134000000000,1,0);
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
CREATE TABLE known_patients (
    clinic     TEXT NOT NULL,
    person     TEXT NOT NULL,
    identifier TEXT NOT NULL,
    reference  TEXT NOT NULL, left_out_because TEXT NOT NULL DEFAULT '', left_out_us INTEGER NOT NULL DEFAULT 0, left_out_reference TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (clinic, person)
) STRICT, WITHOUT ROWID;
INSERT INTO "known_patients" VALUES('north','juniper','urn:example:mrn|4711','Patient/p1','the clinic no longer uses the patient record ''Patient/p1''; ask the clinic which one is right, and write that one into the settings',1792382400000000,'Patient/p1');
CREATE TABLE order_readings (
    clinic   TEXT    NOT NULL,
    person   TEXT    NOT NULL,
    first_us INTEGER,
    last_us  INTEGER,
    others   INTEGER NOT NULL,
    words    TEXT    NOT NULL,
    PRIMARY KEY (clinic, person)
) STRICT, WITHOUT ROWID;
INSERT INTO "order_readings" VALUES('north','juniper',1792357200000000,1792357200000000,1,'');
CREATE TABLE pins (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO "pins" VALUES('clinic:north','https://clinic.example:443/fhir');
INSERT INTO "pins" VALUES('hub:name','test-home');
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
INSERT INTO "receipts" VALUES('north','0a1b2c3d-0000-5000-8000-000000000001',1,'MedicationAdministration','m1','1',201,1792357200000001,1,0);
INSERT INTO "receipts" VALUES('north','0a1b2c3d-0000-5000-8000-000000000001',2,'MedicationAdministration','m1','2',200,1792357200000003,3,2);
INSERT INTO "receipts" VALUES('north','0a1b2c3d-0000-5000-8000-000000000004',1,'Observation','o1','1',201,1792357200000002,2,1);
INSERT INTO "receipts" VALUES('north','0a1b2c3d-0000-5000-8000-000000000004',2,'Observation','o1','2',200,1792357200000004,4,3);
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
INSERT INTO "revisions" VALUES('0a1b2c3d-0000-5000-8000-000000000009',1,1792353600000000,'inbox','{"action":"record","id":"0a1b2c3d-0000-5000-8000-000000000009","type":"weight","person":"juniper","time":"2026-10-16T08:00:00+01:00","by":"marlow","kg":18.2,"how":"measured","recorded_by":"marlow"}');
CREATE TABLE sharing_policies (
    clinic     TEXT    NOT NULL,
    number     INTEGER NOT NULL,
    since_us   INTEGER NOT NULL,
    back_to_us INTEGER,
    policy     TEXT    NOT NULL,
    PRIMARY KEY (clinic, number)
) STRICT, WITHOUT ROWID;
INSERT INTO "sharing_policies" VALUES('north',1,1792310400000000,NULL,'persons=juniper;kinds=dose_given,dose_not_given,finding,weight,vial_opened,summary;from=;notes=yes');
CREATE TABLE starts (
    start_number INTEGER PRIMARY KEY,
    started_us   INTEGER NOT NULL
) STRICT;
INSERT INTO "starts" VALUES(1,1792350000000000);
INSERT INTO "starts" VALUES(2,1792353600000000);
CREATE INDEX entries_by_time ON entries (happened_us, entry_id);
CREATE INDEX flag_events_by_person ON flag_events (person, number);
CREATE INDEX entries_by_person ON entries (person);
CREATE INDEX receipts_by_number ON receipts (clinic, number);
CREATE INDEX entries_by_person_and_time ON entries (person, happened_us);
CREATE INDEX clinic_orders_by_person ON clinic_orders (person, clinic, number);
CREATE INDEX deliveries_by_state ON deliveries (clinic, state, place);
CREATE INDEX deliveries_by_place ON deliveries (clinic, place);
CREATE INDEX deliveries_fresh ON deliveries (clinic, place) WHERE state = 'waiting' AND troubled = 0;
CREATE INDEX deliveries_under_way ON deliveries (clinic, entry_id) WHERE state = 'under_way';
CREATE INDEX deliveries_by_entry ON deliveries (entry_id);
CREATE INDEX deliveries_unfinished ON deliveries (clinic, wanted_us) WHERE state IN ('waiting', 'under_way');
CREATE TRIGGER audit_is_not_changed BEFORE UPDATE ON audit BEGIN
    SELECT raise(ABORT, 'the audit trail is append-only');
END;
CREATE TRIGGER audit_is_not_deleted BEFORE DELETE ON audit BEGIN
    SELECT raise(ABORT, 'the audit trail is append-only');
END;
COMMIT;
PRAGMA application_id = 1313229890;
PRAGMA user_version = 11;
