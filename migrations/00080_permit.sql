-- Permits of the programme and places of release. A permit covers the seasons that
-- name it; the days of a season of its own apply where its permit has none.

-- +goose Up
CREATE TABLE permit (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    number        TEXT NOT NULL CHECK (trim(number) <> ''),
    holder        TEXT NOT NULL,
    waters        TEXT NOT NULL, -- names with ; between, empty: not told
    from_on       TEXT CHECK (from_on IS NULL OR date(from_on) IS from_on),
    to_on         TEXT CHECK (to_on IS NULL OR date(to_on) IS to_on), -- last day, included
    most_fish     INTEGER CHECK (most_fish >= 0), -- in all, of all its seasons
    least_g       REAL CHECK (least_g > 0), -- mean weight
    most_g        REAL CHECK (most_g > 0),
    least_mm      REAL CHECK (least_mm > 0), -- mean length
    most_mm       REAL CHECK (most_mm > 0),
    species       TEXT NOT NULL, -- keys with ; between, empty: not told
    note          TEXT NOT NULL,
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
CREATE UNIQUE INDEX permit_number ON permit (number) WHERE voided = 0;

CREATE TABLE release_place (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    name          TEXT NOT NULL CHECK (trim(name) <> ''),
    water         TEXT NOT NULL,
    coordinates   TEXT NOT NULL, -- as they were entered
    reach         TEXT NOT NULL,
    note          TEXT NOT NULL,
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
CREATE UNIQUE INDEX release_place_name ON release_place (name) WHERE voided = 0;

ALTER TABLE season ADD COLUMN permit_id TEXT REFERENCES permit (id);
CREATE INDEX season_permit ON season (permit_id) WHERE permit_id IS NOT NULL;
CREATE INDEX event_permit ON event (permit) WHERE kind = 'release' AND voided = 0;
