-- The logbook itself. Civil dates are TEXT YYYY-MM-DD, instants are INTEGER
-- unix seconds UTC named *_at, columns with a quantity carry its unit. NULL
-- means "not observed"; the empty text means "nothing said" for words.
--
-- Each table that is merged between logbooks has a random 128-bit text id. A
-- season also has a small number, so that its many rows stay short and lie
-- together in the order in which they are read.

-- +goose Up
CREATE TABLE programme (
    num              INTEGER PRIMARY KEY CHECK (num = 1), -- one programme in a logbook
    id               TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    name             TEXT NOT NULL,
    language         TEXT NOT NULL, -- BCP 47
    temperature_unit TEXT NOT NULL CHECK (temperature_unit IN ('Cel', '[degF]')),
    invented         INTEGER NOT NULL CHECK (invented IN (0, 1)), -- demo data
    revision         INTEGER NOT NULL DEFAULT 1,
    by_role          TEXT NOT NULL,
    by_label         TEXT NOT NULL,
    changed_at       INTEGER NOT NULL
) STRICT;

CREATE TABLE site (
    id               TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    name             TEXT NOT NULL,
    zone             TEXT NOT NULL, -- IANA name
    altitude_m       REAL,
    language         TEXT NOT NULL,
    temperature_unit TEXT NOT NULL CHECK (temperature_unit IN ('Cel', '[degF]')),
    revision         INTEGER NOT NULL DEFAULT 1,
    by_role          TEXT NOT NULL,
    by_label         TEXT NOT NULL,
    changed_at       INTEGER NOT NULL
) STRICT;

CREATE TABLE tank (
    id          TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id     TEXT NOT NULL REFERENCES site (id),
    name        TEXT NOT NULL,
    volume_l    REAL NOT NULL,
    wall        TEXT NOT NULL CHECK (wall IN ('', 'bare', 'insulated')),
    setpoint_c  REAL, -- when a season starts; later changes are events
    has_chiller INTEGER NOT NULL CHECK (has_chiller IN (0, 1)),
    has_filter  INTEGER NOT NULL CHECK (has_filter IN (0, 1)),
    has_airpump INTEGER NOT NULL CHECK (has_airpump IN (0, 1)),
    has_basket  INTEGER NOT NULL CHECK (has_basket IN (0, 1)),
    revision    INTEGER NOT NULL DEFAULT 1,
    by_role     TEXT NOT NULL,
    by_label    TEXT NOT NULL,
    changed_at  INTEGER NOT NULL
) STRICT;
CREATE INDEX tank_site ON tank (site_id);

CREATE TABLE lot (
    id              TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    code            TEXT NOT NULL,
    species         TEXT NOT NULL CHECK (species <> ''),
    supplier        TEXT NOT NULL,
    stock           TEXT NOT NULL,
    fertilised_on   TEXT CHECK (fertilised_on IS NULL OR date(fertilised_on) IS fertilised_on),
    egg_diameter_mm REAL,
    note            TEXT NOT NULL,
    revision        INTEGER NOT NULL DEFAULT 1, -- bumped by every write to any season of the lot
    edits           INTEGER NOT NULL DEFAULT 1, -- bumped by edits of this row alone
    by_role         TEXT NOT NULL,
    by_label        TEXT NOT NULL,
    changed_at      INTEGER NOT NULL
) STRICT;

CREATE TABLE season (
    num             INTEGER PRIMARY KEY,
    id              TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    label           TEXT NOT NULL,
    tank_id         TEXT NOT NULL REFERENCES tank (id),
    lot_id          TEXT NOT NULL REFERENCES lot (id),
    closed_on       TEXT CHECK (closed_on IS NULL OR date(closed_on) IS closed_on),
    release_from_on TEXT CHECK (release_from_on IS NULL OR date(release_from_on) IS release_from_on),
    release_by_on   TEXT CHECK (release_by_on IS NULL OR date(release_by_on) IS release_by_on),
    revision        INTEGER NOT NULL DEFAULT 1, -- bumped by every write to the season
    edits           INTEGER NOT NULL DEFAULT 1, -- bumped by edits of this row alone
    by_role         TEXT NOT NULL,
    by_label        TEXT NOT NULL,
    changed_at      INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX season_open ON season (tank_id) WHERE closed_on IS NULL;
CREATE INDEX season_tank ON season (tank_id);
CREATE INDEX season_lot ON season (lot_id);

-- Entries: delivery, checks, event, closed_span. received_at and by_* say who
-- first stored the row and never change; changed_* say who corrected it last.
CREATE TABLE delivery (
    season_num         INTEGER NOT NULL REFERENCES season (num),
    id                 TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    on_date            TEXT NOT NULL CHECK (date(on_date) IS on_date),
    egg_count          INTEGER NOT NULL,
    method             TEXT NOT NULL, -- how it was counted
    thermal_units_c    REAL, -- degree-days accumulated since fertilisation
    mean_temperature_c REAL, -- of the hatchery's water until delivery
    development_index  REAL,
    pack_temperature_c REAL,
    stage              TEXT NOT NULL,
    note               TEXT NOT NULL,
    received_at        INTEGER NOT NULL,
    by_role            TEXT NOT NULL,
    by_label           TEXT NOT NULL,
    revision           INTEGER NOT NULL DEFAULT 1,
    reason             TEXT NOT NULL DEFAULT '',
    voided             INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at         INTEGER NOT NULL,
    changed_role       TEXT NOT NULL,
    changed_label      TEXT NOT NULL,
    PRIMARY KEY (season_num, on_date, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE checks (
    season_num          INTEGER NOT NULL REFERENCES season (num),
    id                  TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    on_date             TEXT NOT NULL CHECK (date(on_date) IS on_date),
    slot                TEXT NOT NULL CHECK (slot IN ('morning', 'extra', 'extra_2', 'extra_3', 'extra_4')),
    local_time          TEXT NOT NULL, -- HH:MM on the wall, or empty
    temperature_c       REAL,
    temperature_entered TEXT NOT NULL, -- as typed
    temperature_unit    TEXT NOT NULL CHECK (temperature_unit IN ('', 'Cel', '[degF]')),
    chiller             TEXT NOT NULL CHECK (chiller IN ('', 'running', 'stopped', 'not_checked', 'not_fitted')),
    filter              TEXT NOT NULL CHECK (filter IN ('', 'running', 'stopped', 'not_checked', 'not_fitted')),
    air_pump            TEXT NOT NULL CHECK (air_pump IN ('', 'running', 'stopped', 'not_checked', 'not_fitted')),
    dead_eggs           INTEGER,
    dead_alevins        INTEGER,
    dead_fry            INTEGER,
    stage               TEXT NOT NULL,
    hatched             TEXT NOT NULL,
    water               TEXT NOT NULL,
    fungus              TEXT NOT NULL,
    ph                  REAL,
    tan_mg_l            REAL, -- total ammonia, as N
    nitrite_mg_l        REAL, -- as N
    nitrate_mg_l        REAL, -- as N
    oxygen_mg_l         REAL,
    fed_g               REAL,
    note                TEXT NOT NULL,
    observer            TEXT NOT NULL, -- a group or role, never a name
    confirmed           TEXT NOT NULL, -- fields confirmed as surprising, space between
    received_at         INTEGER NOT NULL,
    by_role             TEXT NOT NULL,
    by_label            TEXT NOT NULL,
    revision            INTEGER NOT NULL DEFAULT 1,
    reason              TEXT NOT NULL DEFAULT '',
    voided              INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at          INTEGER NOT NULL,
    changed_role        TEXT NOT NULL,
    changed_label       TEXT NOT NULL,
    PRIMARY KEY (season_num, on_date, slot, id)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX checks_slot ON checks (season_num, on_date, slot) WHERE voided = 0;

CREATE TABLE event (
    season_num    INTEGER NOT NULL REFERENCES season (num),
    id            TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    kind          TEXT NOT NULL,
    on_date       TEXT NOT NULL CHECK (date(on_date) IS on_date),
    local_time    TEXT NOT NULL,
    fish_count    INTEGER,
    volume_l      REAL,
    setpoint_c    REAL,
    duration_h    REAL,
    mean_weight_g REAL,
    place         TEXT NOT NULL,
    permit        TEXT NOT NULL,
    note          TEXT NOT NULL,
    observer      TEXT NOT NULL,
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

-- Days on which nobody looks at the tanks of a site.
CREATE TABLE closed_span (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id       TEXT NOT NULL REFERENCES site (id),
    from_on       TEXT NOT NULL CHECK (date(from_on) IS from_on),
    to_on         TEXT NOT NULL CHECK (date(to_on) IS to_on), -- last day, included
    label         TEXT NOT NULL, -- why the school is closed
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
CREATE INDEX closed_span_site ON closed_span (site_id, from_on);

-- One file (or one batch from a sensor) of readings.
CREATE TABLE import (
    num         INTEGER PRIMARY KEY,
    id          TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    season_num  INTEGER NOT NULL REFERENCES season (num),
    file_sha256 TEXT NOT NULL CHECK (length(file_sha256) = 64),
    file_name   TEXT NOT NULL,
    dialect     TEXT NOT NULL, -- what was detected, JSON
    rows_added  INTEGER NOT NULL,
    rows_known  INTEGER NOT NULL, -- already there, unchanged
    rows_other  INTEGER NOT NULL, -- already there with another temperature; the first one stays
    refused     TEXT NOT NULL CHECK (json_valid(refused)), -- [{line, key, args}]
    received_at INTEGER NOT NULL,
    by_role     TEXT NOT NULL,
    by_label    TEXT NOT NULL
) STRICT;
CREATE INDEX import_season ON import (season_num);

-- Readings never change: a second reading of the same series and instant is
-- left out. For a daily mean read_at only orders the row: it is midnight UTC of
-- the day, and no time of day is claimed.
CREATE TABLE reading (
    season_num    INTEGER NOT NULL REFERENCES season (num),
    read_at       INTEGER NOT NULL,
    daily         INTEGER NOT NULL CHECK (daily IN (0, 1)),
    series        TEXT NOT NULL,
    on_date       TEXT NOT NULL CHECK (date(on_date) IS on_date), -- the day at the site
    temperature_c REAL NOT NULL,
    suspect       TEXT NOT NULL, -- message key of why it is left out of sums, or empty
    import_num    INTEGER NOT NULL REFERENCES import (num),
    PRIMARY KEY (season_num, read_at, daily, series),
    CHECK (daily = 0 OR read_at = unixepoch(on_date))
) STRICT, WITHOUT ROWID;
CREATE INDEX reading_import ON reading (import_num);

-- Limits of the rules changed by the programme. value NULL: back to the stock
-- value. species and stage are empty when the limit holds for all.
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
    UNIQUE (key, species, stage)
) STRICT;

-- The life of a flag. kind is act, watch, due or note. subject tells flags of
-- one rule apart (a piece of equipment, a day).
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
    step_by         TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX flag_open ON flag (season_num, rule, subject) WHERE cleared_at IS NULL;
CREATE INDEX flag_season ON flag (season_num);

CREATE TABLE flag_history (
    num       INTEGER PRIMARY KEY,
    flag_id   TEXT NOT NULL REFERENCES flag (id),
    step      TEXT NOT NULL,
    step_at   INTEGER NOT NULL,
    step_by   TEXT NOT NULL,
    row_json  TEXT NOT NULL CHECK (json_valid(row_json))
) STRICT;
CREATE INDEX flag_history_flag ON flag_history (flag_id);

-- Old rows of everything that can be corrected. by_* and at say who replaced
-- the row, reason says why.
CREATE TABLE history (
    num        INTEGER PRIMARY KEY,
    table_name TEXT NOT NULL,
    row_id     TEXT NOT NULL,
    season_num INTEGER REFERENCES season (num), -- NULL for rows above a season
    revision   INTEGER NOT NULL, -- of the old row
    row_json   TEXT NOT NULL CHECK (json_valid(row_json)),
    reason     TEXT NOT NULL,
    by_role    TEXT NOT NULL,
    by_label   TEXT NOT NULL,
    at         INTEGER NOT NULL,
    UNIQUE (table_name, row_id, revision)
) STRICT;
CREATE INDEX history_season ON history (season_num);
