package store

import (
	"context"
	"encoding/json"
	"time"

	"reddside/internal/logbook"
)

// SetupDraft is how far the set-up has come, so that it can be left and taken
// up again.
type SetupDraft struct {
	CodeHash  string // of the one-time code from the console; empty once used
	Step      string
	Data      json.RawMessage // what was told so far
	CreatedAt time.Time
	ChangedAt time.Time
}

// StartSetup gives the set-up a new one-time code and keeps what was told. It
// is refused with error.programme.exists once there is a programme.
func (d *DB) StartSetup(ctx context.Context, codeHash string, now time.Time) error {
	return d.write(ctx, "start set-up", func(c *conn) error {
		if err := c.noProgramme(ctx); err != nil {
			return err
		}
		_, err := c.exec(ctx, `INSERT INTO setup_draft (num, code_hash, step, data, created_at, changed_at) VALUES (1, ?1, '', '{}', ?2, ?2)
			ON CONFLICT (num) DO UPDATE SET code_hash = excluded.code_hash, changed_at = excluded.changed_at`, codeHash, now.Unix())
		return err
	})
}

func (c *conn) noProgramme(ctx context.Context) error {
	found, err := c.one(ctx, func(row) error { return nil }, "SELECT 1 FROM programme")
	if err == nil && found {
		err = logbook.Errorf(logbook.Conflict, "error.programme.exists", nil)
	}
	return err
}

// Setup returns the draft, or NotFound when no set-up is under way.
func (d *DB) Setup(ctx context.Context) (s SetupDraft, err error) {
	err = d.read(ctx, "read set-up", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error {
			s = SetupDraft{CodeHash: r.text(0), Step: r.text(1), Data: json.RawMessage(r.text(2)), CreatedAt: r.at(3),
				ChangedAt: r.at(4)}
			return nil
		}, "SELECT code_hash, step, data, created_at, changed_at FROM setup_draft")
		if err == nil && !found {
			err = logbook.Missing("setup")
		}
		return err
	})
	return s, err
}

// SaveSetup keeps what was told up to a step.
func (d *DB) SaveSetup(ctx context.Context, step string, data json.RawMessage, now time.Time) error {
	return d.changeOne(ctx, "setup", "UPDATE setup_draft SET step = ?, data = ?, changed_at = ?", step, string(data),
		now.Unix())
}

// FoundProgramme creates the programme and its first coordinator in one
// transaction and uses up the one-time code. The draft stays for the next steps.
func (d *DB) FoundProgramme(ctx context.Context, p logbook.Programme, a Account, now time.Time) (logbook.Programme,
	Account, error) {
	a.Role, a.SiteID = logbook.Coordinator, ""
	err := d.write(ctx, "found programme", func(c *conn) error {
		if err := c.createAccount(ctx, &a, now); err != nil {
			return err
		}
		if err := c.createProgramme(ctx, a.Actor(), &p, now); err != nil {
			return err
		}
		_, err := c.exec(ctx, "UPDATE setup_draft SET code_hash = '', changed_at = ?", now.Unix())
		return err
	})
	return p, a, err
}

// EndSetup forgets the draft.
func (d *DB) EndSetup(ctx context.Context) error {
	return d.write(ctx, "end set-up", func(c *conn) error {
		_, err := c.exec(ctx, "DELETE FROM setup_draft")
		return err
	})
}
