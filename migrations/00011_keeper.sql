-- Who looks after the tanks of a site, whether anybody does at weekends, and the
-- notes between keeper and coordinator. Groups and roles, never names.

-- +goose Up
-- '' follows the limit of the whole programme.
ALTER TABLE site ADD COLUMN weekends TEXT NOT NULL DEFAULT '' CHECK (weekends IN ('', 'looked_at', 'left_alone'));

DROP TRIGGER site_history;
-- +goose StatementBegin
CREATE TRIGGER site_history AFTER UPDATE OF revision ON site
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('site', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'name', OLD.name, 'zone', OLD.zone, 'altitude_m', OLD.altitude_m,
            'language', OLD.language, 'temperature_unit', OLD.temperature_unit, 'weekends', OLD.weekends, 'revision', OLD.revision,
            'by_role', OLD.by_role, 'by_label', OLD.by_label, 'changed_at', OLD.changed_at),
        '', NEW.by_role, NEW.by_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- Who looks on each weekday; one list for each site.
CREATE TABLE duty (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id       TEXT NOT NULL UNIQUE REFERENCES site (id),
    sunday_who    TEXT NOT NULL CHECK (length(sunday_who) <= 40),
    monday_who    TEXT NOT NULL CHECK (length(monday_who) <= 40),
    tuesday_who   TEXT NOT NULL CHECK (length(tuesday_who) <= 40),
    wednesday_who TEXT NOT NULL CHECK (length(wednesday_who) <= 40),
    thursday_who  TEXT NOT NULL CHECK (length(thursday_who) <= 40),
    friday_who    TEXT NOT NULL CHECK (length(friday_who) <= 40),
    saturday_who  TEXT NOT NULL CHECK (length(saturday_who) <= 40),
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL DEFAULT '',
    voided        INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL
) STRICT;

-- Who looks on the days of a holiday or weekend, in place of the weekday's group.
CREATE TABLE cover (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id       TEXT NOT NULL REFERENCES site (id),
    from_on       TEXT NOT NULL CHECK (date(from_on) IS from_on),
    to_on         TEXT NOT NULL CHECK (date(to_on) IS to_on), -- last day, included
    who           TEXT NOT NULL CHECK (length(who) BETWEEN 1 AND 40),
    note          TEXT NOT NULL,
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL DEFAULT '',
    voided        INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL,
    CHECK (from_on <= to_on)
) STRICT;
CREATE INDEX cover_site ON cover (site_id, from_on);

-- Notes between keeper and coordinator about one season.
CREATE TABLE note (
    season_num    INTEGER NOT NULL REFERENCES season (num),
    id            TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    body          TEXT NOT NULL CHECK (length(body) BETWEEN 1 AND 500),
    asks          INTEGER NOT NULL CHECK (asks IN (0, 1)), -- its writer wants an answer
    answers_id    TEXT REFERENCES note (id), -- the note that it answers
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL DEFAULT '',
    voided        INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL,
    PRIMARY KEY (season_num, received_at, id)
) STRICT, WITHOUT ROWID;

-- Which kind of user has seen a note first, and when.
CREATE TABLE note_seen (
    note_id  TEXT NOT NULL REFERENCES note (id),
    by_role  TEXT NOT NULL,
    by_label TEXT NOT NULL,
    seen_at  INTEGER NOT NULL,
    PRIMARY KEY (note_id, by_role)
) STRICT, WITHOUT ROWID;

-- +goose StatementBegin
CREATE TRIGGER duty_guard BEFORE UPDATE ON duty
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.site_id IS NOT OLD.site_id OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'duty: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER duty_history AFTER UPDATE ON duty
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('duty', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'site_id', OLD.site_id, 'sunday_who', OLD.sunday_who, 'monday_who', OLD.monday_who,
            'tuesday_who', OLD.tuesday_who, 'wednesday_who', OLD.wednesday_who, 'thursday_who', OLD.thursday_who,
            'friday_who', OLD.friday_who, 'saturday_who', OLD.saturday_who,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER duty_keep BEFORE DELETE ON duty
BEGIN
    SELECT RAISE(ABORT, 'duty: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER duty_new BEFORE INSERT ON duty
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM duty WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'duty: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER cover_guard BEFORE UPDATE ON cover
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.site_id IS NOT OLD.site_id OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'cover: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER cover_history AFTER UPDATE ON cover
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('cover', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'site_id', OLD.site_id, 'from_on', OLD.from_on, 'to_on', OLD.to_on, 'who', OLD.who, 'note',
            OLD.note,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER cover_keep BEFORE DELETE ON cover
BEGIN
    SELECT RAISE(ABORT, 'cover: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER cover_new BEFORE INSERT ON cover
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM cover WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'cover: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER note_guard BEFORE UPDATE ON note
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'note: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER note_history AFTER UPDATE ON note
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('note', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'body', OLD.body, 'asks', OLD.asks, 'answers_id', OLD.answers_id,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER note_keep BEFORE DELETE ON note
BEGIN
    SELECT RAISE(ABORT, 'note: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER note_new BEFORE INSERT ON note
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM note WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'note: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER note_seen_keep BEFORE DELETE ON note_seen
BEGIN
    SELECT RAISE(ABORT, 'note_seen: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER note_seen_guard BEFORE UPDATE ON note_seen
BEGIN
    SELECT RAISE(ABORT, 'note_seen: rows are never changed');
END;
-- +goose StatementEnd
