-- Limits of this programme, and the life of flags.

-- +goose Up
CREATE TABLE threshold (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    key           TEXT NOT NULL,
    species       TEXT NOT NULL,
    stage         TEXT NOT NULL,
    value         REAL,
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL CHECK (trim(reason) <> ''),
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL,
    source        TEXT NOT NULL DEFAULT '',
    UNIQUE (key, species, stage)
) STRICT;

CREATE TABLE flag (
    id              TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    season_num      INTEGER NOT NULL REFERENCES season (num),
    rule            TEXT NOT NULL,
    subject         TEXT NOT NULL,
    kind            TEXT NOT NULL,
    args            TEXT NOT NULL CHECK (json_valid(args)),
    raised_on       TEXT NOT NULL CHECK (date(raised_on) IS raised_on),
    raised_at       INTEGER NOT NULL,
    seen_at         INTEGER,
    seen_by         TEXT NOT NULL DEFAULT '',
    set_aside_until TEXT CHECK (set_aside_until IS NULL OR date(set_aside_until) IS set_aside_until),
    set_aside_reason TEXT NOT NULL DEFAULT '',
    set_aside_by    TEXT NOT NULL DEFAULT '',
    cleared_on      TEXT CHECK (cleared_on IS NULL OR date(cleared_on) IS cleared_on),
    cleared_at      INTEGER,
    step            TEXT NOT NULL, -- raised, changed, seen, set_aside, cleared: the last step
    step_at         INTEGER NOT NULL,
    step_by         TEXT NOT NULL,
    seen_kind       TEXT NOT NULL DEFAULT '',
    set_aside_once  INTEGER NOT NULL DEFAULT 0 CHECK (set_aside_once IN (0, 1)),
    set_aside_kind  TEXT NOT NULL DEFAULT '',
    step_role       TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE UNIQUE INDEX flag_open ON flag (season_num, rule, subject) WHERE cleared_at IS NULL;
CREATE INDEX flag_season ON flag (season_num);
CREATE INDEX flag_unseen ON flag (season_num) WHERE seen_at IS NULL;

CREATE TABLE flag_history (
    num       INTEGER PRIMARY KEY,
    flag_id   TEXT NOT NULL REFERENCES flag (id),
    step      TEXT NOT NULL,
    step_at   INTEGER NOT NULL,
    step_by   TEXT NOT NULL,
    row_json  TEXT NOT NULL CHECK (json_valid(row_json)),
    step_role TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX flag_history_flag ON flag_history (flag_id);

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
