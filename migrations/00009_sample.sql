-- Fish that were weighed and measured: entries like events, changed only with the
-- next revision and a reason, never deleted.

-- +goose Up
CREATE TABLE sample (
    season_num    INTEGER NOT NULL REFERENCES season (num),
    id            TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    on_date       TEXT NOT NULL CHECK (date(on_date) IS on_date),
    weighed_count INTEGER NOT NULL CHECK (weighed_count >= 1),
    total_g       REAL NOT NULL CHECK (total_g > 0), -- of all fish weighed
    weights_g     TEXT NOT NULL CHECK (json_valid(weights_g)), -- [0.41, 0.38]: of each, [] when not weighed singly
    lengths_mm    TEXT NOT NULL CHECK (json_valid(lengths_mm)), -- [33, 31.5]: of single fish, [] for none
    lost_count    INTEGER CHECK (lost_count BETWEEN 0 AND weighed_count), -- did not come back; NULL: nobody said
    note          TEXT NOT NULL,
    observer      TEXT NOT NULL,
    confirmed     TEXT NOT NULL, -- fields whose surprising value was confirmed, with spaces between
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL DEFAULT '',
    voided        INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL,
    PRIMARY KEY (season_num, on_date, id)
) STRICT, WITHOUT ROWID;

-- +goose StatementBegin
CREATE TRIGGER sample_guard BEFORE UPDATE ON sample
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'sample: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER sample_history AFTER UPDATE ON sample
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('sample', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'on_date', OLD.on_date, 'weighed_count', OLD.weighed_count,
            'total_g', OLD.total_g, 'weights_g', OLD.weights_g, 'lengths_mm', OLD.lengths_mm, 'lost_count', OLD.lost_count,
            'note', OLD.note, 'observer', OLD.observer, 'confirmed', OLD.confirmed,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER sample_keep BEFORE DELETE ON sample
BEGIN
    SELECT RAISE(ABORT, 'sample: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER sample_new BEFORE INSERT ON sample
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM sample WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'sample: a row is stored once, as revision 1');
END;
-- +goose StatementEnd
