-- +goose Up
-- Chlorine left in the water, and what holds the pH.
ALTER TABLE checks ADD COLUMN chlorine_mg_l REAL;
ALTER TABLE checks ADD COLUMN alkalinity_mg_l REAL; -- as CaCO3
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
            'nitrate_mg_l', OLD.nitrate_mg_l, 'oxygen_mg_l', OLD.oxygen_mg_l, 'chlorine_mg_l', OLD.chlorine_mg_l,
            'alkalinity_mg_l', OLD.alkalinity_mg_l, 'fed_g', OLD.fed_g,
            'note', OLD.note, 'observer', OLD.observer, 'confirmed', OLD.confirmed,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd
