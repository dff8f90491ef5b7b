-- Setpoint plans that a season follows, and the guesses of a class. Both are
-- entries: changed only with the next revision and a reason, never deleted.

-- +goose Up
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

-- +goose StatementBegin
CREATE TRIGGER plan_guard BEFORE UPDATE ON plan
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'plan: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER plan_history AFTER UPDATE ON plan
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('plan', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'made_on', OLD.made_on, 'goal', OLD.goal, 'by_on', OLD.by_on,
            'swim_up_on', OLD.swim_up_on, 'steps', OLD.steps, 'targets', OLD.targets, 'ended_on', OLD.ended_on,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER guess_guard BEFORE UPDATE ON guess
WHEN NEW.revision IS NOT OLD.revision + 1 OR trim(NEW.reason) = '' OR NEW.id IS NOT OLD.id
    OR NEW.season_num IS NOT OLD.season_num OR NEW.received_at IS NOT OLD.received_at
    OR NEW.by_role IS NOT OLD.by_role OR NEW.by_label IS NOT OLD.by_label
BEGIN
    SELECT RAISE(ABORT, 'guess: a change needs the next revision and a reason');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER guess_history AFTER UPDATE ON guess
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('guess', OLD.id, OLD.season_num, OLD.revision,
        json_object(
            'season_num', OLD.season_num, 'id', OLD.id, 'group_label', OLD.group_label, 'group_key', OLD.group_key,
            'guessed_on', OLD.guessed_on, 'made_on', OLD.made_on,
            'received_at', OLD.received_at, 'by_role', OLD.by_role, 'by_label', OLD.by_label,
            'revision', OLD.revision, 'reason', OLD.reason, 'voided', OLD.voided,
            'changed_at', OLD.changed_at, 'changed_role', OLD.changed_role,
            'changed_label', OLD.changed_label),
        NEW.reason, NEW.changed_role, NEW.changed_label, NEW.changed_at);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER plan_keep BEFORE DELETE ON plan
BEGIN
    SELECT RAISE(ABORT, 'plan: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER guess_keep BEFORE DELETE ON guess
BEGIN
    SELECT RAISE(ABORT, 'guess: rows are never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER plan_new BEFORE INSERT ON plan
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM plan WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'plan: a row is stored once, as revision 1');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER guess_new BEFORE INSERT ON guess
WHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM guess WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'guess: a row is stored once, as revision 1');
END;
-- +goose StatementEnd
