package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// PendingSubmission is an entry that arrived after the sign-in had ended. Only its owner
// gets it back.
type PendingSubmission struct {
	ID        logbook.ID
	Owner     string // as OwnerOf
	Path      string
	Body      string // form-encoded
	CreatedAt time.Time
	ExpiresAt time.Time
}

// OwnerOf names who gets back what was sent after a sign-in of the actor had
// ended: the account, or the role at the school of those who have none. The
// tablets of a class are one owner.
func OwnerOf(a logbook.Actor) string {
	if a.AccountID != "" && a.Role != logbook.Class {
		return string(a.AccountID)
	}
	return string(a.Role) + "/" + string(a.SiteID)
}

// Bounds of what an owner has; local choices. Nobody can fill the places of
// another: a place is had by having signed in.
const (
	MaxPending  = 20 // a class with several tablets in one lesson
	maxBrowsers = 50
)

// AddPending keeps an entry for its owner until it expires; p.ID is made here. An
// owner who has MaxPending waiting is refused with error.busy.
func (d *DB) AddPending(ctx context.Context, p PendingSubmission, now time.Time) error {
	return d.write(ctx, "keep entry", func(c *conn) error {
		if _, err := c.exec(ctx, "DELETE FROM kept_post WHERE expires_at <= ?", now.Unix()); err != nil {
			return err
		}
		var n, same int64
		if _, err := c.one(ctx, func(r row) error { n, same = r.int(0), r.int(1); return nil },
			"SELECT count(*), coalesce(sum(path = ?2 AND body = ?3), 0) FROM kept_post WHERE owner = ?1", p.Owner,
			p.Path, p.Body); err != nil {
			return err
		}
		switch {
		case same > 0: // sent twice
			return nil
		case n >= MaxPending:
			return logbook.Errorf(logbook.Unavailable, "error.busy", nil)
		}
		return c.insert(ctx, "kept_post", "id, owner, path, body, created_at, expires_at",
			logbook.NewID(), p.Owner, p.Path, p.Body, now.Unix(), p.ExpiresAt.Unix())
	})
}

// PendingSubmissions lists what waits for an owner, oldest first.
func (d *DB) PendingSubmissions(ctx context.Context, owner string, now time.Time) ([]PendingSubmission, error) {
	var out []PendingSubmission
	err := d.read(ctx, "list kept entries", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			out = append(out, PendingSubmission{ID: logbook.ID(r.text(0)), Owner: owner, Path: r.text(1),
				Body:      r.text(2),
				CreatedAt: r.at(3), ExpiresAt: r.at(4)})
			return nil
		}, "SELECT id, path, body, created_at, expires_at FROM kept_post WHERE owner = ? AND expires_at > ? ORDER BY created_at, id",
			owner, now.Unix())
	})
	return out, err
}

// ForgetPost deletes what waits for an owner once it has been decided on.
func (d *DB) ForgetPost(ctx context.Context, owner string, id logbook.ID) error {
	return d.write(ctx, "forget entry", func(c *conn) error {
		_, err := c.exec(ctx, "DELETE FROM kept_post WHERE owner = ? AND id = ?", owner, id)
		return err
	})
}

// KnowBrowser notes that the owner signed in in the browser with the secret whose
// hash is given. Of more than maxBrowsers the oldest are forgotten.
func (d *DB) KnowBrowser(ctx context.Context, tokenHash, owner string, until, now time.Time) error {
	return d.write(ctx, "know browser", func(c *conn) error {
		if err := c.insert(ctx, "known_browser", "token_hash, owner, created_at, expires_at",
			tokenHash, owner, now.Unix(), until.Unix()); err != nil {
			return err
		}
		_, err := c.exec(ctx, `DELETE FROM known_browser WHERE owner = ?1 AND token_hash NOT IN
			(SELECT token_hash FROM known_browser WHERE owner = ?1 ORDER BY created_at DESC, token_hash LIMIT ?2)`, owner, maxBrowsers)
		return err
	})
}

// BrowserOwner returns who signed in in a browser; "" for a browser that nobody
// knows.
func (d *DB) BrowserOwner(ctx context.Context, tokenHash string, now time.Time) (owner string, err error) {
	err = d.read(ctx, "find browser", func(c *conn) error {
		_, err := c.one(ctx, func(r row) error { owner = r.text(0); return nil },
			"SELECT owner FROM known_browser WHERE token_hash = ? AND expires_at > ?", tokenHash, now.Unix())
		return err
	})
	return owner, err
}
