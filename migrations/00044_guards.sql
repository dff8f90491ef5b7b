-- How many changes were stored, so that a logbook whose write-ahead log is
-- missing or cut is noticed; and the guards that are not made from the columns.

-- +goose Up
CREATE TABLE write_count (
    num INTEGER PRIMARY KEY CHECK (num = 1),
    n   INTEGER NOT NULL CHECK (n >= 0)
) STRICT;
INSERT INTO write_count (num, n) VALUES (1, 0);

CREATE TABLE write_gap (
    num        INTEGER PRIMARY KEY,
    expected   INTEGER NOT NULL,
    found      INTEGER NOT NULL CHECK (found < expected),
    noticed_at INTEGER NOT NULL
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER season_touches_lot AFTER UPDATE OF revision ON season
WHEN NEW.revision <> OLD.revision
BEGIN
    UPDATE lot SET revision = revision + 1 WHERE id = NEW.lot_id;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER import_guard BEFORE UPDATE ON import
WHEN OLD.staged_at IS NULL OR NEW.num IS NOT OLD.num OR NEW.id IS NOT OLD.id OR NEW.season_num IS NOT OLD.season_num
BEGIN
    SELECT RAISE(ABORT, 'import: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER import_keep BEFORE DELETE ON import
WHEN OLD.staged_at IS NULL
BEGIN
    SELECT RAISE(ABORT, 'import: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reading_guard BEFORE UPDATE ON reading
BEGIN
    SELECT RAISE(ABORT, 'reading: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reading_keep BEFORE DELETE ON reading
WHEN (SELECT staged_at FROM import WHERE num = OLD.import_num) IS NULL
BEGIN
    SELECT RAISE(ABORT, 'reading: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_keep BEFORE DELETE ON flag
BEGIN
    SELECT RAISE(ABORT, 'flag: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_first AFTER INSERT ON flag
BEGIN
    INSERT INTO flag_history (flag_id, step, step_at, step_by, step_role, row_json)
    VALUES (NEW.id, NEW.step, NEW.step_at, NEW.step_by, NEW.step_role, json_object('season_num', NEW.season_num, 'rule', NEW.rule, 'subject', NEW.subject,
        'kind', NEW.kind, 'args', json(NEW.args), 'raised_on', NEW.raised_on, 'set_aside_until', NEW.set_aside_until,
        'set_aside_once', NEW.set_aside_once, 'set_aside_reason', NEW.set_aside_reason, 'cleared_on', NEW.cleared_on));
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_step AFTER UPDATE ON flag
BEGIN
    INSERT INTO flag_history (flag_id, step, step_at, step_by, step_role, row_json)
    VALUES (NEW.id, NEW.step, NEW.step_at, NEW.step_by, NEW.step_role, json_object('season_num', NEW.season_num, 'rule', NEW.rule, 'subject', NEW.subject,
        'kind', NEW.kind, 'args', json(NEW.args), 'raised_on', NEW.raised_on, 'set_aside_until', NEW.set_aside_until,
        'set_aside_once', NEW.set_aside_once, 'set_aside_reason', NEW.set_aside_reason, 'cleared_on', NEW.cleared_on));
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_guard BEFORE UPDATE ON flag
WHEN NEW.id IS NOT OLD.id OR NEW.season_num IS NOT OLD.season_num OR NEW.rule IS NOT OLD.rule OR NEW.subject IS NOT OLD.subject
    OR NEW.raised_at IS NOT OLD.raised_at OR NEW.raised_on IS NOT OLD.raised_on
    OR OLD.cleared_at IS NOT NULL AND (OLD.seen_at IS NOT NULL OR NEW.seen_at IS NULL OR NEW.step IS NOT 'seen'
        OR NEW.cleared_at IS NOT OLD.cleared_at OR NEW.cleared_on IS NOT OLD.cleared_on OR NEW.kind IS NOT OLD.kind
        OR NEW.args IS NOT OLD.args OR NEW.set_aside_until IS NOT OLD.set_aside_until OR NEW.set_aside_once IS NOT OLD.set_aside_once
        OR NEW.set_aside_reason IS NOT OLD.set_aside_reason OR NEW.set_aside_by IS NOT OLD.set_aside_by)
BEGIN
    SELECT RAISE(ABORT, 'flag: a cleared flag stays as it is');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_history_guard BEFORE UPDATE ON flag_history
BEGIN
    SELECT RAISE(ABORT, 'flag_history: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_history_keep BEFORE DELETE ON flag_history
BEGIN
    SELECT RAISE(ABORT, 'flag_history: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER history_guard BEFORE UPDATE ON history
BEGIN
    SELECT RAISE(ABORT, 'history: rows never change');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER history_keep BEFORE DELETE ON history
BEGIN
    SELECT RAISE(ABORT, 'history: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER note_seen_keep BEFORE DELETE ON note_seen
BEGIN
    SELECT RAISE(ABORT, 'note_seen: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER note_seen_guard BEFORE UPDATE ON note_seen
BEGIN
    SELECT RAISE(ABORT, 'note_seen: rows are never changed');
END;
-- +goose StatementEnd

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

-- +goose StatementBegin
CREATE TRIGGER write_count_guard BEFORE UPDATE ON write_count
WHEN NEW.num IS NOT OLD.num OR NEW.n <= OLD.n
BEGIN
    SELECT RAISE(ABORT, 'write_count: it only grows');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER write_count_keep BEFORE DELETE ON write_count
BEGIN
    SELECT RAISE(ABORT, 'write_count: it only grows');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER write_gap_guard BEFORE UPDATE ON write_gap
BEGIN
    SELECT RAISE(ABORT, 'write_gap: a gap that was noticed stays');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER write_gap_keep BEFORE DELETE ON write_gap
BEGIN
    SELECT RAISE(ABORT, 'write_gap: a gap that was noticed stays');
END;
-- +goose StatementEnd
