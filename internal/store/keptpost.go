package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// KeptPost is an entry that arrived after the sign-in had ended.
type KeptPost struct {
	Path      string
	Body      string // form-encoded
	ExpiresAt time.Time
}

// maxKept bounds how many entries are kept at once: they come from people who
// have not signed in, and must not fill the disk.
const maxKept = 500

// KeepPost keeps an entry until somebody signs in with the secret whose hash
// is given, or until it expires. When too many are kept it is refused with
// error.busy.
func (d *DB) KeepPost(ctx context.Context, tokenHash string, p KeptPost, now time.Time) error {
	return d.write(ctx, "keep entry", func(c *conn) error {
		if _, err := c.exec(ctx, "DELETE FROM kept_post WHERE expires_at <= ?", now.Unix()); err != nil {
			return err
		}
		var n int64
		if _, err := c.one(ctx, func(r row) error { n = r.int(0); return nil }, "SELECT count(*) FROM kept_post"); err != nil {
			return err
		}
		if n >= maxKept {
			return logbook.Errorf(logbook.Unavailable, "error.busy", nil)
		}
		return c.insert(ctx, "kept_post", "token_hash, path, body, created_at, expires_at",
			tokenHash, p.Path, p.Body, now.Unix(), p.ExpiresAt.Unix())
	})
}

// FindPost returns a kept entry; NotFound when there is none or it has expired.
func (d *DB) FindPost(ctx context.Context, tokenHash string, now time.Time) (p KeptPost, err error) {
	err = d.read(ctx, "find entry", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error { p = KeptPost{r.text(0), r.text(1), r.at(2)}; return nil },
			"SELECT path, body, expires_at FROM kept_post WHERE token_hash = ? AND expires_at > ?", tokenHash, now.Unix())
		if err == nil && !found {
			err = logbook.Missing("kept_post")
		}
		return err
	})
	return p, err
}

// ForgetPost deletes a kept entry once it has been answered.
func (d *DB) ForgetPost(ctx context.Context, tokenHash string) error {
	return d.write(ctx, "forget entry", func(c *conn) error {
		_, err := c.exec(ctx, "DELETE FROM kept_post WHERE token_hash = ?", tokenHash)
		return err
	})
}
