-- The logbook itself. Civil dates are TEXT YYYY-MM-DD, instants are INTEGER
-- unix seconds UTC named *_at, columns with a quantity carry its unit. NULL
-- means "not observed"; the empty text means "nothing said" for words.
--
-- Each table that is merged between logbooks has a random 128-bit text id. A
-- season also has a small number, so that its many rows stay short and lie
-- together in the order in which they are read.
--
-- What keeps rows from being changed in silence, and writes their history, is
-- made from the columns by internal/store/guards.go.

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
    changed_at       INTEGER NOT NULL,
    weekends         TEXT NOT NULL DEFAULT '' CHECK (weekends IN ('', 'looked_at', 'left_alone'))
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
    dead_cause          TEXT NOT NULL DEFAULT '' CHECK (dead_cause IN ('', 'fungus', 'warm_water', 'bad_water', 'handling', 'not_feeding', 'unknown')),
    chlorine_mg_l       REAL,
    alkalinity_mg_l     REAL, -- as CaCO3
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
    product       TEXT NOT NULL DEFAULT '',
    purpose       TEXT NOT NULL DEFAULT '',
    dose          REAL,
    dose_unit     TEXT NOT NULL DEFAULT '',
    minutes       REAL,
    allowed_by    TEXT NOT NULL DEFAULT '',
    days_before_release INTEGER,
    PRIMARY KEY (season_num, on_date, id)
) STRICT, WITHOUT ROWID;

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
    by_label    TEXT NOT NULL,
    staged_at INTEGER
) STRICT;
CREATE INDEX import_season ON import (season_num);
CREATE INDEX import_staged ON import (num) WHERE staged_at IS NOT NULL;

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

CREATE TABLE plan (
    season_num    INTEGER NOT NULL REFERENCES season (num),
    id            TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    made_on       TEXT NOT NULL CHECK (date(made_on) IS made_on), -- day of the state it starts from
    goal          TEXT NOT NULL CHECK (goal IN ('swim_up', 'release')),
    by_on         TEXT NOT NULL CHECK (date(by_on) IS by_on), -- wanted day of the goal
    swim_up_on    TEXT NOT NULL CHECK (date(swim_up_on) IS swim_up_on), -- by the plan
    steps         TEXT NOT NULL CHECK (json_valid(steps)), -- [["2026-02-11", 7.5], ...]: day, setpoint in C
    targets       TEXT NOT NULL CHECK (json_valid(targets)), -- [[7.0, 0.62], ...]: C and index of each day from made_on
    ended_on      TEXT CHECK (ended_on IS NULL OR date(ended_on) IS ended_on),
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL DEFAULT '',
    voided        INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL,
    PRIMARY KEY (season_num, made_on, id)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX plan_open ON plan (season_num) WHERE ended_on IS NULL AND voided = 0;

CREATE TABLE guess (
    season_num    INTEGER NOT NULL REFERENCES season (num),
    id            TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    group_label   TEXT NOT NULL CHECK (length(group_label) BETWEEN 1 AND 24), -- a group, never a name
    group_key     TEXT NOT NULL, -- the label without regard to case and spaces
    guessed_on    TEXT NOT NULL CHECK (date(guessed_on) IS guessed_on), -- when half will have hatched
    made_on       TEXT NOT NULL CHECK (date(made_on) IS made_on),
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL DEFAULT '',
    voided        INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL,
    PRIMARY KEY (season_num, guessed_on, id)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX guess_group ON guess (season_num, group_key) WHERE voided = 0;

CREATE TABLE note (
    season_num    INTEGER NOT NULL REFERENCES season (num),
    id            TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    body          TEXT NOT NULL CHECK (length(body) BETWEEN 1 AND 500),
    asks          INTEGER NOT NULL CHECK (asks IN (0, 1)), -- its writer wants an answer
    answers_id    TEXT REFERENCES note (id), -- the note that it answers
    received_at   INTEGER NOT NULL,
    by_role       TEXT NOT NULL,
    by_label      TEXT NOT NULL,
    revision      INTEGER NOT NULL DEFAULT 1,
    reason        TEXT NOT NULL DEFAULT '',
    voided        INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at    INTEGER NOT NULL,
    changed_role  TEXT NOT NULL,
    changed_label TEXT NOT NULL,
    PRIMARY KEY (season_num, received_at, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE note_seen (
    note_id  TEXT NOT NULL REFERENCES note (id),
    by_role  TEXT NOT NULL,
    by_label TEXT NOT NULL,
    seen_at  INTEGER NOT NULL,
    PRIMARY KEY (note_id, by_role)
) STRICT, WITHOUT ROWID;

CREATE TABLE release_record (
    season_num        INTEGER NOT NULL REFERENCES season (num),
    id                TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    event_id          TEXT NOT NULL REFERENCES event (id),
    water_body        TEXT NOT NULL,
    latitude          REAL CHECK (latitude BETWEEN -90 AND 90), -- degrees, north positive
    longitude         REAL CHECK (longitude BETWEEN -180 AND 180), -- degrees, east positive
    purpose           TEXT NOT NULL,
    life_stage        TEXT NOT NULL,
    mean_length_mm    REAL,
    size_method       TEXT NOT NULL, -- how weight and length were measured
    transport         TEXT NOT NULL,
    left_at           TEXT NOT NULL, -- HH:MM on the wall, or empty
    arrived_at        TEXT NOT NULL, -- HH:MM on the wall, or empty
    container_l       REAL,
    oxygen_supply     TEXT NOT NULL CHECK (oxygen_supply IN ('', 'none', 'air', 'oxygen')),
    water_source      TEXT NOT NULL,
    tank_c            REAL, -- water of the tank, and so of the bucket at the start
    bucket_c          REAL, -- at the stream
    stream_c          REAL,
    tempering_steps   INTEGER,
    tempering_minutes INTEGER,
    supplier          TEXT NOT NULL,
    stock             TEXT NOT NULL,
    health_statement  TEXT NOT NULL CHECK (health_statement IN ('', 'yes', 'no', 'not_asked')),
    health_note       TEXT NOT NULL,
    first_count       INTEGER,
    second_count      INTEGER, -- by another person, who did not see the first
    third_count       INTEGER, -- together, where the two differ
    reason_again      TEXT NOT NULL, -- why there is one more release
    reason_more       TEXT NOT NULL, -- why there are more fish than the log says
    not_ready         TEXT NOT NULL, -- signs of readiness that were not ticked, and why it went on
    received_at       INTEGER NOT NULL,
    by_role           TEXT NOT NULL,
    by_label          TEXT NOT NULL,
    revision          INTEGER NOT NULL DEFAULT 1,
    reason            TEXT NOT NULL DEFAULT '',
    voided            INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at        INTEGER NOT NULL,
    changed_role      TEXT NOT NULL,
    changed_label     TEXT NOT NULL,
    PRIMARY KEY (season_num, id)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX release_record_event ON release_record (event_id) WHERE voided = 0;

CREATE TABLE photo (
    season_num        INTEGER NOT NULL REFERENCES season (num),
    id                TEXT NOT NULL UNIQUE CHECK (length(id) = 26),
    on_date           TEXT NOT NULL CHECK (date(on_date) IS on_date),
    alt               TEXT NOT NULL CHECK (trim(alt) <> ''), -- what it shows, in words
    width_px          INTEGER NOT NULL,
    height_px         INTEGER NOT NULL,
    jpeg              BLOB NOT NULL, -- encoded anew, without any data of place or camera
    received_at       INTEGER NOT NULL,
    by_role           TEXT NOT NULL,
    by_label          TEXT NOT NULL,
    revision          INTEGER NOT NULL DEFAULT 1,
    reason            TEXT NOT NULL DEFAULT '',
    voided            INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    changed_at        INTEGER NOT NULL,
    changed_role      TEXT NOT NULL,
    changed_label     TEXT NOT NULL,
    PRIMARY KEY (season_num, on_date, id),
    CHECK ((voided = 1) = (length(jpeg) = 0))
) STRICT;

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

CREATE TABLE duty (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id       TEXT NOT NULL UNIQUE REFERENCES site (id),
    sunday_who    TEXT NOT NULL CHECK (length(sunday_who) <= 40),
    monday_who    TEXT NOT NULL CHECK (length(monday_who) <= 40),
    tuesday_who   TEXT NOT NULL CHECK (length(tuesday_who) <= 40),
    wednesday_who TEXT NOT NULL CHECK (length(wednesday_who) <= 40),
    thursday_who  TEXT NOT NULL CHECK (length(thursday_who) <= 40),
    friday_who    TEXT NOT NULL CHECK (length(friday_who) <= 40),
    saturday_who  TEXT NOT NULL CHECK (length(saturday_who) <= 40),
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

CREATE TABLE cover (
    id            TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id       TEXT NOT NULL REFERENCES site (id),
    from_on       TEXT NOT NULL CHECK (date(from_on) IS from_on),
    to_on         TEXT NOT NULL CHECK (date(to_on) IS to_on), -- last day, included
    who           TEXT NOT NULL CHECK (length(who) BETWEEN 1 AND 40),
    note          TEXT NOT NULL,
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
CREATE INDEX cover_site ON cover (site_id, from_on);

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
CREATE INDEX history_row ON history (row_id);
