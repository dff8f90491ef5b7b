-- What was made ready in a tank before eggs come. A tick is taken off by another
-- row; the newest of an item counts, until the next delivery of the tank.

-- +goose Up
CREATE TABLE ready (
    num      INTEGER PRIMARY KEY,
    tank_id  TEXT NOT NULL REFERENCES tank (id),
    item     TEXT NOT NULL CHECK (item <> ''),
    done     INTEGER NOT NULL CHECK (done IN (0, 1)),
    at       INTEGER NOT NULL,
    by_role  TEXT NOT NULL,
    by_label TEXT NOT NULL
) STRICT;
CREATE INDEX ready_tank ON ready (tank_id, item, num);

-- +goose StatementBegin
CREATE TRIGGER ready_guard BEFORE UPDATE ON ready
BEGIN
    SELECT RAISE(ABORT, 'ready: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER ready_keep BEFORE DELETE ON ready
BEGIN
    SELECT RAISE(ABORT, 'ready: rows are never deleted');
END;
-- +goose StatementEnd
