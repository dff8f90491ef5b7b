-- +goose Up
-- What a treatment was: what, what for, how strong, how long, by whose leave, and
-- how many days before release.
ALTER TABLE event ADD COLUMN product TEXT NOT NULL DEFAULT '';
ALTER TABLE event ADD COLUMN purpose TEXT NOT NULL DEFAULT '';
ALTER TABLE event ADD COLUMN dose REAL;
ALTER TABLE event ADD COLUMN dose_unit TEXT NOT NULL DEFAULT '';
ALTER TABLE event ADD COLUMN minutes REAL;
ALTER TABLE event ADD COLUMN allowed_by TEXT NOT NULL DEFAULT '';
ALTER TABLE event ADD COLUMN days_before_release INTEGER;
DROP TRIGGER event_history;
-- +goose StatementBegin
CREATE TRIGGER event_history AFTER UPDATE ON event
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('event', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'kind', OLD.kind, 'on_date', OLD.on_date,
            'local_time', OLD.local_time, 'fish_count', OLD.fish_count, 'volume_l', OLD.volume_l,
            'setpoint_c', OLD.setpoint_c, 'duration_h', OLD.duration_h, 'mean_weight_g', OLD.mean_weight_g,
            'place', OLD.place, 'permit', OLD.permit, 'product', OLD.product, 'purpose', OLD.purpose,
            'dose', OLD.dose, 'dose_unit', OLD.dose_unit, 'minutes', OLD.minutes, 'allowed_by', OLD.allowed_by,
            'days_before_release', OLD.days_before_release, 'note', OLD.note, 'observer', OLD.observer,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd
