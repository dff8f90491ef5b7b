-- What people found when they looked into a flag: whether something was wrong.
-- Nothing is overwritten; the newest finding of a flag counts.

-- +goose Up
CREATE TABLE flag_finding (
    num     INTEGER PRIMARY KEY,
    flag_id TEXT NOT NULL REFERENCES flag (id),
    finding TEXT NOT NULL CHECK (finding IN ('real', 'nothing', 'unsure')),
    note    TEXT NOT NULL,
    at      INTEGER NOT NULL,
    by_role TEXT NOT NULL,
    by_label TEXT NOT NULL
) STRICT;
CREATE INDEX flag_finding_flag ON flag_finding (flag_id);

-- +goose StatementBegin
CREATE TRIGGER flag_finding_guard BEFORE UPDATE ON flag_finding
BEGIN
    SELECT RAISE(ABORT, 'flag_finding: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_finding_keep BEFORE DELETE ON flag_finding
BEGIN
    SELECT RAISE(ABORT, 'flag_finding: rows are never deleted');
END;
-- +goose StatementEnd
