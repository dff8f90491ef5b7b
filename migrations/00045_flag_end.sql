-- Why a flag ended: back in range, part of another one (end_in: its rule), the
-- entry behind it is gone, a new limit, or the end of the season. '' for flags that
-- ended before reasons were kept.

-- +goose Up
ALTER TABLE flag ADD COLUMN end_why TEXT NOT NULL DEFAULT ''
    CHECK (end_why IN ('', 'solved', 'part', 'gone', 'limit', 'season'));
ALTER TABLE flag ADD COLUMN end_in TEXT NOT NULL DEFAULT '';
DROP TRIGGER flag_first;
DROP TRIGGER flag_step;
DROP TRIGGER flag_guard;

-- +goose StatementBegin
CREATE TRIGGER flag_first AFTER INSERT ON flag
BEGIN
    INSERT INTO flag_history (flag_id, step, step_at, step_by, step_role, row_json)
    VALUES (NEW.id, NEW.step, NEW.step_at, NEW.step_by, NEW.step_role, json_object('season_num', NEW.season_num, 'rule', NEW.rule, 'subject', NEW.subject,
        'kind', NEW.kind, 'args', json(NEW.args), 'raised_on', NEW.raised_on, 'set_aside_until', NEW.set_aside_until,
        'set_aside_once', NEW.set_aside_once, 'set_aside_reason', NEW.set_aside_reason, 'cleared_on', NEW.cleared_on, 'end_why', NEW.end_why, 'end_in', NEW.end_in));
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_step AFTER UPDATE ON flag
BEGIN
    INSERT INTO flag_history (flag_id, step, step_at, step_by, step_role, row_json)
    VALUES (NEW.id, NEW.step, NEW.step_at, NEW.step_by, NEW.step_role, json_object('season_num', NEW.season_num, 'rule', NEW.rule, 'subject', NEW.subject,
        'kind', NEW.kind, 'args', json(NEW.args), 'raised_on', NEW.raised_on, 'set_aside_until', NEW.set_aside_until,
        'set_aside_once', NEW.set_aside_once, 'set_aside_reason', NEW.set_aside_reason, 'cleared_on', NEW.cleared_on, 'end_why', NEW.end_why, 'end_in', NEW.end_in));
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER flag_guard BEFORE UPDATE ON flag
WHEN NEW.id IS NOT OLD.id OR NEW.season_num IS NOT OLD.season_num OR NEW.rule IS NOT OLD.rule OR NEW.subject IS NOT OLD.subject
    OR NEW.raised_at IS NOT OLD.raised_at OR NEW.raised_on IS NOT OLD.raised_on
    OR OLD.cleared_at IS NOT NULL AND (OLD.seen_at IS NOT NULL OR NEW.seen_at IS NULL OR NEW.step IS NOT 'seen'
        OR NEW.cleared_at IS NOT OLD.cleared_at OR NEW.cleared_on IS NOT OLD.cleared_on OR NEW.end_why IS NOT OLD.end_why
        OR NEW.end_in IS NOT OLD.end_in OR NEW.kind IS NOT OLD.kind
        OR NEW.args IS NOT OLD.args OR NEW.set_aside_until IS NOT OLD.set_aside_until OR NEW.set_aside_once IS NOT OLD.set_aside_once
        OR NEW.set_aside_reason IS NOT OLD.set_aside_reason OR NEW.set_aside_by IS NOT OLD.set_aside_by)
BEGIN
    SELECT RAISE(ABORT, 'flag: a cleared flag stays as it is');
END;
-- +goose StatementEnd
