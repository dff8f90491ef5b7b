-- A large file of readings is stored in parts, so that a save beside it waits for
-- one part only. While staged_at is set, the instant of the newest part, its
-- readings are seen by nobody; the last, small step takes it away. What a crash
-- leaves staged is deleted.

-- +goose Up
ALTER TABLE import ADD COLUMN staged_at INTEGER;
CREATE INDEX import_staged ON import (num) WHERE staged_at IS NOT NULL;

DROP TRIGGER import_guard;

-- +goose StatementBegin
CREATE TRIGGER import_guard BEFORE UPDATE ON import
WHEN OLD.staged_at IS NULL OR NEW.num IS NOT OLD.num OR NEW.id IS NOT OLD.id OR NEW.season_num IS NOT OLD.season_num
BEGIN
    SELECT RAISE(ABORT, 'import: rows never change');
END;
-- +goose StatementEnd

DROP TRIGGER import_keep;

-- +goose StatementBegin
CREATE TRIGGER import_keep BEFORE DELETE ON import
WHEN OLD.staged_at IS NULL
BEGIN
    SELECT RAISE(ABORT, 'import: rows are never deleted');
END;
-- +goose StatementEnd

DROP TRIGGER reading_keep;

-- +goose StatementBegin
CREATE TRIGGER reading_keep BEFORE DELETE ON reading
WHEN (SELECT staged_at FROM import WHERE num = OLD.import_num) IS NULL
BEGIN
    SELECT RAISE(ABORT, 'reading: rows are never deleted');
END;
-- +goose StatementEnd
