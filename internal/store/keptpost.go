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

// KeepPost keeps an entry until somebody signs in with the secret whose hash
// is given, or until it expires.
func (d *DB) KeepPost(ctx context.Context, tokenHash string, p KeptPost, now time.Time) error {
	return d.write(ctx, "keep entry", func(c *conn) error {
		return c.insert(ctx, "kept_post", "token_hash, path, body, created_at, expires_at",
			tokenHash, p.Path, p.Body, now.Unix(), p.ExpiresAt.Unix())
	})
}

// TakePost returns a kept entry once and forgets it; NotFound when there is
// none or it has expired.
func (d *DB) TakePost(ctx context.Context, tokenHash string, now time.Time) (p KeptPost, err error) {
	err = d.write(ctx, "take entry", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error { p = KeptPost{r.text(0), r.text(1), r.at(2)}; return nil },
			"SELECT path, body, expires_at FROM kept_post WHERE token_hash = ? AND expires_at > ?", tokenHash, now.Unix())
		if err != nil {
			return err
		}
		if !found {
			return logbook.Missing("kept_post")
		}
		_, err = c.exec(ctx, "DELETE FROM kept_post WHERE token_hash = ?", tokenHash)
		return err
	})
	return p, err
}
