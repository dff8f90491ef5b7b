-- Guards that columns and tables added later were still without: whether anybody
-- looks at a site at weekends changes with the next revision only, and kits,
-- findings and kept views are never overwritten or deleted in silence.

-- +goose Up
DROP TRIGGER site_guard;

-- +goose StatementBegin
CREATE TRIGGER site_guard BEFORE UPDATE OF
    id, name, zone, altitude_m, language, temperature_unit, weekends, by_role, by_label, changed_at
ON site
WHEN NEW.revision IS NOT OLD.revision + 1 OR NEW.id IS NOT OLD.id
BEGIN
    SELECT RAISE(ABORT, 'site: a change needs the next revision');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER kit_new BEFORE INSERT ON kit
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM kit WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'kit: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- A view that was removed stays as it was; one that stands can only be removed.
-- +goose StatementBegin
CREATE TRIGGER board_view_guard BEFORE UPDATE ON board_view
WHEN OLD.removed_at IS NOT NULL OR NEW.removed_at IS NULL OR NEW.id IS NOT OLD.id OR NEW.name IS NOT OLD.name
    OR NEW.query IS NOT OLD.query OR NEW.created_at IS NOT OLD.created_at OR NEW.created_by IS NOT OLD.created_by
BEGIN
    SELECT RAISE(ABORT, 'board_view: a view is only removed');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER board_view_keep BEFORE DELETE ON board_view
BEGIN
    SELECT RAISE(ABORT, 'board_view: rows are never deleted');
END;
-- +goose StatementEnd
