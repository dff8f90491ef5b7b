-- What a release was like, in columns of its own; photographs of a release
-- day; and what the dead of a check died of, where somebody noted it.

-- +goose Up
-- Beside its event, which holds day, count, mean weight, place, permit and who.
-- It counts while its event does. Supplier and stock are those of the lot then.
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

-- +goose StatementBegin
CREATE TRIGGER release_record_guard BEFORE UPDATE ON release_record
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
    OR NEW.event_id IS NOT OLD.event_id
BEGIN
    SELECT RAISE(ABORT, 'release_record: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER release_record_history AFTER UPDATE ON release_record
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('release_record', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'event_id', OLD.event_id,
            'water_body', OLD.water_body, 'latitude', OLD.latitude, 'longitude', OLD.longitude,
            'purpose', OLD.purpose, 'life_stage', OLD.life_stage, 'mean_length_mm', OLD.mean_length_mm,
            'size_method', OLD.size_method, 'transport', OLD.transport, 'left_at', OLD.left_at,
            'arrived_at', OLD.arrived_at, 'container_l', OLD.container_l, 'oxygen_supply', OLD.oxygen_supply,
            'water_source', OLD.water_source, 'tank_c', OLD.tank_c, 'bucket_c', OLD.bucket_c,
            'stream_c', OLD.stream_c, 'tempering_steps', OLD.tempering_steps,
            'tempering_minutes', OLD.tempering_minutes, 'supplier', OLD.supplier, 'stock', OLD.stock,
            'health_statement', OLD.health_statement, 'health_note', OLD.health_note,
            'first_count', OLD.first_count, 'second_count', OLD.second_count, 'third_count', OLD.third_count,
            'reason_again', OLD.reason_again, 'reason_more', OLD.reason_more, 'not_ready', OLD.not_ready,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER release_record_keep BEFORE DELETE ON release_record
BEGIN
    SELECT RAISE(ABORT, 'release_record: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER release_record_new BEFORE INSERT ON release_record
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM release_record WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'release_record: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- A photograph taken back is emptied: what should not be kept is not kept. Its
-- words stay. The picture itself never goes to the history.
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

-- +goose StatementBegin
CREATE TRIGGER photo_guard BEFORE UPDATE ON photo
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
    OR (NEW.voided = 0 AND NEW.jpeg IS NOT OLD.jpeg)
BEGIN
    SELECT RAISE(ABORT, 'photo: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER photo_history AFTER UPDATE ON photo
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('photo', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'on_date', OLD.on_date, 'alt', OLD.alt,
            'width_px', OLD.width_px, 'height_px', OLD.height_px, 'received_at', OLD.received_at,
            'by_role', OLD.by_role, 'by_label', OLD.by_label, 'revision', OLD.revision, 'reason', OLD.reason,
            'voided', OLD.voided, 'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER photo_keep BEFORE DELETE ON photo
BEGIN
    SELECT RAISE(ABORT, 'photo: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER photo_new BEFORE INSERT ON photo
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM photo WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'photo: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

ALTER TABLE checks ADD COLUMN dead_cause TEXT NOT NULL DEFAULT ''
    CHECK (dead_cause IN ('', 'fungus', 'warm_water', 'bad_water', 'handling', 'not_feeding', 'unknown'));
DROP TRIGGER checks_history;
-- +goose StatementBegin
CREATE TRIGGER checks_history AFTER UPDATE ON checks
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('checks', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'on_date', OLD.on_date, 'slot', OLD.slot,
            'local_time', OLD.local_time, 'temperature_c', OLD.temperature_c,
            'temperature_entered', OLD.temperature_entered, 'temperature_unit', OLD.temperature_unit,
            'chiller', OLD.chiller, 'filter', OLD.filter, 'air_pump', OLD.air_pump,
            'dead_eggs', OLD.dead_eggs, 'dead_alevins', OLD.dead_alevins, 'dead_fry', OLD.dead_fry,
            'dead_cause', OLD.dead_cause, 'stage', OLD.stage, 'hatched', OLD.hatched, 'water', OLD.water,
            'fungus', OLD.fungus, 'ph', OLD.ph, 'tan_mg_l', OLD.tan_mg_l, 'nitrite_mg_l', OLD.nitrite_mg_l,
            'nitrate_mg_l', OLD.nitrate_mg_l, 'oxygen_mg_l', OLD.oxygen_mg_l, 'fed_g', OLD.fed_g,
            'note', OLD.note, 'observer', OLD.observer, 'confirmed', OLD.confirmed,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd
