-- Where a chosen limit comes from, and the ammonia kit of a school.

-- +goose Up
ALTER TABLE threshold ADD COLUMN source TEXT NOT NULL DEFAULT ''; -- publisher and citation; '' for a local choice

DROP TRIGGER threshold_history;

-- +goose StatementBegin
CREATE TRIGGER threshold_history AFTER UPDATE ON threshold
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('threshold', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'key', OLD.key, 'species', OLD.species, 'stage', OLD.stage, 'value', OLD.value,
            'source', OLD.source,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'changed_at', OLD.changed_at,
            'changed_role', OLD.changed_role, 'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- What the figures of a school's ammonia kit count. A new kit is a new revision.
CREATE TABLE kit (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id       TEXT NOT NULL UNIQUE REFERENCES site (id),
    name          TEXT NOT NULL CHECK (trim(name) <> ''),
    basis         TEXT NOT NULL CHECK (basis IN ('N', 'NH3', 'NH4')),
    step_mg_l     REAL CHECK (step_mg_l > 0), -- between two colours, as printed; NULL: a common colour card
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL DEFAULT '',
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER kit_guard BEFORE UPDATE ON kit
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.site_id IS NOT OLD.site_id OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'kit: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER kit_history AFTER UPDATE ON kit
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('kit', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'site_id', OLD.site_id, 'name', OLD.name, 'basis', OLD.basis, 'step_mg_l', OLD.step_mg_l,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'changed_at', OLD.changed_at,
            'changed_role', OLD.changed_role, 'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER kit_keep BEFORE DELETE ON kit
BEGIN
    SELECT RAISE(ABORT, 'kit: rows are never deleted');
END;
-- +goose StatementEnd
