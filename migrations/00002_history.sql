-- Nothing is overwritten silently. A changed row needs the next revision (and
-- for entries a reason); its old form goes to the history; rows are never
-- deleted. Entries are taken back by voided = 1 with a reason.

-- +goose Up
-- +goose StatementBegin
CREATE TRIGGER delivery_guard BEFORE UPDATE ON delivery
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'delivery: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER delivery_history AFTER UPDATE ON delivery
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('delivery', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'on_date', OLD.on_date, 'egg_count', OLD.egg_count,
            'method', OLD.method, 'thermal_units_c', OLD.thermal_units_c,
            'mean_temperature_c', OLD.mean_temperature_c, 'development_index', OLD.development_index,
            'pack_temperature_c', OLD.pack_temperature_c, 'stage', OLD.stage, 'note', OLD.note,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER checks_guard BEFORE UPDATE ON checks
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'checks: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

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
            'stage', OLD.stage, 'hatched', OLD.hatched, 'water', OLD.water, 'fungus', OLD.fungus,
            'ph', OLD.ph, 'tan_mg_l', OLD.tan_mg_l, 'nitrite_mg_l', OLD.nitrite_mg_l,
            'nitrate_mg_l', OLD.nitrate_mg_l, 'oxygen_mg_l', OLD.oxygen_mg_l, 'fed_g', OLD.fed_g,
            'note', OLD.note, 'observer', OLD.observer, 'confirmed', OLD.confirmed,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER event_guard BEFORE UPDATE ON event
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'event: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER event_history AFTER UPDATE ON event
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('event', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'kind', OLD.kind, 'on_date', OLD.on_date,
            'local_time', OLD.local_time, 'fish_count', OLD.fish_count, 'volume_l', OLD.volume_l,
            'setpoint_c', OLD.setpoint_c, 'duration_h', OLD.duration_h, 'mean_weight_g', OLD.mean_weight_g,
            'place', OLD.place, 'permit', OLD.permit, 'note', OLD.note, 'observer', OLD.observer,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER closed_span_guard BEFORE UPDATE ON closed_span
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.site_id IS NOT OLD.site_id OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'closed_span: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER closed_span_history AFTER UPDATE ON closed_span
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('closed_span', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'site_id', OLD.site_id, 'from_on', OLD.from_on, 'to_on', OLD.to_on,
            'label', OLD.label, 'received_at', OLD.received_at, 'by_role', OLD.by_role,
            'by_label', OLD.by_label, 'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER threshold_guard BEFORE UPDATE ON threshold
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.key IS NOT OLD.key OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'threshold: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER threshold_history AFTER UPDATE ON threshold
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('threshold', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'key', OLD.key, 'species', OLD.species, 'stage', OLD.stage, 'value', OLD.value,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'changed_at', OLD.changed_at,
            'changed_role', OLD.changed_role, 'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER programme_guard BEFORE UPDATE OF
    id, name, language, temperature_unit, invented, by_role, by_label, changed_at
ON programme
WHEN NEW.revision IS NOT OLD.revision + 1 OR NEW.id IS NOT OLD.id
BEGIN
    SELECT RAISE(ABORT, 'programme: a change needs the next revision');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER programme_history AFTER UPDATE OF revision ON programme
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('programme', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'name', OLD.name, 'language', OLD.language,
            'temperature_unit', OLD.temperature_unit, 'invented', OLD.invented, 'revision', OLD.revision,
            'by_role', OLD.by_role, 'by_label', OLD.by_label, 'changed_at', OLD.changed_at),
        '', NEW.by_role, NEW.by_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER site_guard BEFORE UPDATE OF
    id, name, zone, altitude_m, language, temperature_unit, by_role, by_label, changed_at
ON site
WHEN NEW.revision IS NOT OLD.revision + 1 OR NEW.id IS NOT OLD.id
BEGIN
    SELECT RAISE(ABORT, 'site: a change needs the next revision');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER site_history AFTER UPDATE OF revision ON site
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('site', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'name', OLD.name, 'zone', OLD.zone, 'altitude_m', OLD.altitude_m,
            'language', OLD.language, 'temperature_unit', OLD.temperature_unit, 'revision', OLD.revision,
            'by_role', OLD.by_role, 'by_label', OLD.by_label, 'changed_at', OLD.changed_at),
        '', NEW.by_role, NEW.by_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER tank_guard BEFORE UPDATE OF
    id, site_id, name, volume_l, wall, setpoint_c, has_chiller, has_filter, has_airpump,
    has_basket, by_role, by_label, changed_at
ON tank
WHEN NEW.revision IS NOT OLD.revision + 1 OR NEW.id IS NOT OLD.id OR NEW.site_id IS NOT OLD.site_id
BEGIN
    SELECT RAISE(ABORT, 'tank: a change needs the next revision');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER tank_history AFTER UPDATE OF revision ON tank
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('tank', OLD.id, NULL, OLD.revision,
        json_object(
            'id', OLD.id, 'site_id', OLD.site_id, 'name', OLD.name, 'volume_l', OLD.volume_l,
            'wall', OLD.wall, 'setpoint_c', OLD.setpoint_c, 'has_chiller', OLD.has_chiller,
            'has_filter', OLD.has_filter, 'has_airpump', OLD.has_airpump, 'has_basket', OLD.has_basket,
            'revision', OLD.revision, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'changed_at', OLD.changed_at),
        '', NEW.by_role, NEW.by_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER lot_guard BEFORE UPDATE OF
    id, code, species, supplier, stock, fertilised_on, egg_diameter_mm, note, by_role,
    by_label, changed_at
ON lot
WHEN NEW.edits IS NOT OLD.edits + 1 OR NEW.id IS NOT OLD.id
BEGIN
    SELECT RAISE(ABORT, 'lot: a change needs the next edits');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER lot_history AFTER UPDATE OF edits ON lot
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('lot', OLD.id, NULL, OLD.edits,
        json_object(
            'id', OLD.id, 'code', OLD.code, 'species', OLD.species, 'supplier', OLD.supplier,
            'stock', OLD.stock, 'fertilised_on', OLD.fertilised_on, 'egg_diameter_mm', OLD.egg_diameter_mm,
            'note', OLD.note, 'revision', OLD.revision, 'edits', OLD.edits, 'by_role', OLD.by_role,
            'by_label', OLD.by_label, 'changed_at', OLD.changed_at),
        '', NEW.by_role, NEW.by_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER season_guard BEFORE UPDATE OF
    id, label, tank_id, lot_id, closed_on, release_from_on, release_by_on, by_role, by_label,
    changed_at
ON season
WHEN NEW.edits IS NOT OLD.edits + 1 OR NEW.id IS NOT OLD.id OR NEW.tank_id IS NOT OLD.tank_id OR NEW.lot_id IS NOT OLD.lot_id
BEGIN
    SELECT RAISE(ABORT, 'season: a change needs the next edits');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER season_history AFTER UPDATE OF edits ON season
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('season', OLD.id, OLD.num, OLD.edits,
        json_object(
            'id', OLD.id, 'label', OLD.label, 'tank_id', OLD.tank_id, 'lot_id', OLD.lot_id,
            'closed_on', OLD.closed_on, 'release_from_on', OLD.release_from_on,
            'release_by_on', OLD.release_by_on, 'revision', OLD.revision, 'edits', OLD.edits,
            'by_role', OLD.by_role, 'by_label', OLD.by_label, 'changed_at', OLD.changed_at),
        '', NEW.by_role, NEW.by_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- A write to a season is a write to its lot: tanks of one lot learn from each other.
-- +goose StatementBegin
CREATE TRIGGER season_touches_lot AFTER UPDATE OF revision ON season
WHEN NEW.revision <> OLD.revision
BEGIN
    UPDATE lot SET revision = revision + 1 WHERE id = NEW.lot_id;
END;
-- +goose StatementEnd

-- Each step in the life of a flag is kept.
-- +goose StatementBegin
CREATE TRIGGER flag_first AFTER INSERT ON flag
BEGIN
    INSERT INTO flag_history (flag_id, step, step_at, step_by, row_json)
    VALUES (NEW.id, NEW.step, NEW.step_at, NEW.step_by, json_object('season_num', NEW.season_num, 'rule', NEW.rule, 'subject', NEW.subject,
        'kind', NEW.kind, 'args', json(NEW.args), 'raised_on', NEW.raised_on, 'set_aside_until', NEW.set_aside_until,
        'set_aside_reason', NEW.set_aside_reason, 'cleared_on', NEW.cleared_on));
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_step AFTER UPDATE ON flag
BEGIN
    INSERT INTO flag_history (flag_id, step, step_at, step_by, row_json)
    VALUES (NEW.id, NEW.step, NEW.step_at, NEW.step_by, json_object('season_num', NEW.season_num, 'rule', NEW.rule, 'subject', NEW.subject,
        'kind', NEW.kind, 'args', json(NEW.args), 'raised_on', NEW.raised_on, 'set_aside_until', NEW.set_aside_until,
        'set_aside_reason', NEW.set_aside_reason, 'cleared_on', NEW.cleared_on));
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_guard BEFORE UPDATE ON flag
WHEN OLD.cleared_at IS NOT NULL OR NEW.id IS NOT OLD.id OR NEW.season_num IS NOT OLD.season_num
    OR NEW.rule IS NOT OLD.rule OR NEW.subject IS NOT OLD.subject OR NEW.raised_at IS NOT OLD.raised_at
BEGIN
    SELECT RAISE(ABORT, 'flag: a cleared flag stays as it is');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reading_guard BEFORE UPDATE ON reading
BEGIN
    SELECT RAISE(ABORT, 'reading: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER import_guard BEFORE UPDATE ON import
BEGIN
    SELECT RAISE(ABORT, 'import: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER history_guard BEFORE UPDATE ON history
BEGIN
    SELECT RAISE(ABORT, 'history: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_history_guard BEFORE UPDATE ON flag_history
BEGIN
    SELECT RAISE(ABORT, 'flag_history: rows never change');
END;
-- +goose StatementEnd

-- Rows are never deleted; INSERT OR REPLACE counts as a delete.
-- +goose StatementBegin
CREATE TRIGGER programme_keep BEFORE DELETE ON programme
BEGIN
    SELECT RAISE(ABORT, 'programme: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER site_keep BEFORE DELETE ON site
BEGIN
    SELECT RAISE(ABORT, 'site: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER tank_keep BEFORE DELETE ON tank
BEGIN
    SELECT RAISE(ABORT, 'tank: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER lot_keep BEFORE DELETE ON lot
BEGIN
    SELECT RAISE(ABORT, 'lot: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER season_keep BEFORE DELETE ON season
BEGIN
    SELECT RAISE(ABORT, 'season: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER delivery_keep BEFORE DELETE ON delivery
BEGIN
    SELECT RAISE(ABORT, 'delivery: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER checks_keep BEFORE DELETE ON checks
BEGIN
    SELECT RAISE(ABORT, 'checks: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER event_keep BEFORE DELETE ON event
BEGIN
    SELECT RAISE(ABORT, 'event: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER closed_span_keep BEFORE DELETE ON closed_span
BEGIN
    SELECT RAISE(ABORT, 'closed_span: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER import_keep BEFORE DELETE ON import
BEGIN
    SELECT RAISE(ABORT, 'import: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reading_keep BEFORE DELETE ON reading
BEGIN
    SELECT RAISE(ABORT, 'reading: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER threshold_keep BEFORE DELETE ON threshold
BEGIN
    SELECT RAISE(ABORT, 'threshold: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_keep BEFORE DELETE ON flag
BEGIN
    SELECT RAISE(ABORT, 'flag: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_history_keep BEFORE DELETE ON flag_history
BEGIN
    SELECT RAISE(ABORT, 'flag_history: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER history_keep BEFORE DELETE ON history
BEGIN
    SELECT RAISE(ABORT, 'history: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER delivery_new BEFORE INSERT ON delivery
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM delivery WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'delivery: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER checks_new BEFORE INSERT ON checks
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM checks WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'checks: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER event_new BEFORE INSERT ON event
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM event WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'event: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER closed_span_new BEFORE INSERT ON closed_span
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM closed_span WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'closed_span: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

