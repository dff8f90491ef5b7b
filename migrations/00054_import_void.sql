-- A file of readings can be taken back, with a reason. Its readings stay where they
-- are and no longer count; so two files may hold the same instant.

-- +goose Up
CREATE TABLE import_void (
    import_num INTEGER PRIMARY KEY REFERENCES import (num),
    reason     TEXT NOT NULL CHECK (trim(reason) <> ''),
    voided_at  INTEGER NOT NULL,
    by_role    TEXT NOT NULL,
    by_label   TEXT NOT NULL
) STRICT;

CREATE TABLE reading_by_file (
    season_num    INTEGER NOT NULL REFERENCES season (num),
    read_at       INTEGER NOT NULL,
    daily         INTEGER NOT NULL CHECK (daily IN (0, 1)),
    series        TEXT NOT NULL,
    on_date       TEXT NOT NULL CHECK (date(on_date) IS on_date), -- the day at the site
    temperature_c REAL NOT NULL,
    suspect       TEXT NOT NULL, -- message key of why it is left out of sums, or empty
    import_num    INTEGER NOT NULL REFERENCES import (num),
    PRIMARY KEY (season_num, read_at, daily, series, import_num),
    CHECK (daily = 0 OR read_at = unixepoch(on_date))
) STRICT, WITHOUT ROWID;
INSERT INTO reading_by_file SELECT * FROM reading;
DROP TABLE reading;
ALTER TABLE reading_by_file RENAME TO reading;
CREATE INDEX reading_import ON reading (import_num);

-- +goose StatementBegin
CREATE TRIGGER reading_guard BEFORE UPDATE ON reading
BEGIN
    SELECT RAISE(ABORT, 'reading: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reading_keep BEFORE DELETE ON reading
WHEN (SELECT staged_at FROM import WHERE num = OLD.import_num) IS NULL
BEGIN
    SELECT RAISE(ABORT, 'reading: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER import_void_guard BEFORE UPDATE ON import_void
BEGIN
    SELECT RAISE(ABORT, 'import_void: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER import_void_keep BEFORE DELETE ON import_void
BEGIN
    SELECT RAISE(ABORT, 'import_void: rows are never deleted');
END;
-- +goose StatementEnd
