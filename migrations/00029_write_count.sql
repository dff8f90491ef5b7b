-- How many changes were stored, so that a logbook whose write-ahead log is
-- missing or cut is noticed: a file beside it says how many were acknowledged.

-- +goose Up
CREATE TABLE write_count (
    num INTEGER PRIMARY KEY CHECK (num = 1),
    n   INTEGER NOT NULL CHECK (n >= 0)
) STRICT;
INSERT INTO write_count (num, n) VALUES (1, 0);

-- Changes that had been acknowledged and were gone when writing went on.
CREATE TABLE write_gap (
    num        INTEGER PRIMARY KEY,
    expected   INTEGER NOT NULL,
    found      INTEGER NOT NULL CHECK (found < expected),
    noticed_at INTEGER NOT NULL
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER write_count_guard BEFORE UPDATE ON write_count
WHEN NEW.num IS NOT OLD.num OR NEW.n <= OLD.n
BEGIN
    SELECT RAISE(ABORT, 'write_count: it only grows');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER write_count_keep BEFORE DELETE ON write_count
BEGIN
    SELECT RAISE(ABORT, 'write_count: it only grows');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER write_gap_guard BEFORE UPDATE ON write_gap
BEGIN
    SELECT RAISE(ABORT, 'write_gap: a gap that was noticed stays');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER write_gap_keep BEFORE DELETE ON write_gap
BEGIN
    SELECT RAISE(ABORT, 'write_gap: a gap that was noticed stays');
END;
-- +goose StatementEnd
