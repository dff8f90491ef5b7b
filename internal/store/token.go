package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// Token lets a program use the JSON interface.
type Token struct {
	ID        logbook.ID
	Role      logbook.Role
	SiteID    logbook.ID // empty only for a coordinator
	Label     string
	ExpiresAt time.Time
	RevokedAt time.Time
	CreatedAt time.Time
}

// Actor is the token as the author of a change.
func (t Token) Actor() logbook.Actor {
	return logbook.Actor{AccountID: t.ID, Role: t.Role, SiteID: t.SiteID, Label: t.Label}
}

const tokenRead = "id, role, coalesce(site_id, ''), label, expires_at, revoked_at, created_at"

func readToken(r row) Token {
	return Token{ID: logbook.ID(r.text(0)), Role: logbook.Role(r.text(1)), SiteID: logbook.ID(r.text(2)),
		Label:     r.text(3),
		ExpiresAt: r.at(4), RevokedAt: r.at(5), CreatedAt: r.at(6)}
}

// CreateToken stores a token by the SHA-256 (hex) of its secret.
func (d *DB) CreateToken(ctx context.Context, t Token, hash string, now time.Time) (Token, error) {
	err := d.write(ctx, "create token", func(c *conn) error {
		if err := newID(&t.ID); err != nil {
			return err
		}
		if t.SiteID != "" {
			if _, err := c.site(ctx, t.SiteID); err != nil {
				return err
			}
		}
		t.CreatedAt = now.UTC().Truncate(time.Second)
		return c.insert(ctx, "api_token", "id, token_hash, role, site_id, label, expires_at, created_at",
			t.ID, hash, t.Role, nullText(t.SiteID), t.Label, t.ExpiresAt.Unix(), now.Unix())
	})
	return t, err
}

// TokenByHash returns the token that may be used now, or NotFound.
func (d *DB) TokenByHash(ctx context.Context, hash string, now time.Time) (t Token, err error) {
	err = d.read(ctx, "read token", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error { t = readToken(r); return nil },
			"SELECT "+tokenRead+" FROM api_token WHERE token_hash = ? AND revoked_at IS NULL AND expires_at > ?", hash,
			now.Unix())
		if err == nil && !found {
			err = logbook.Missing("token")
		}
		return err
	})
	return t, err
}

// RevokeToken ends a token for good.
func (d *DB) RevokeToken(ctx context.Context, id logbook.ID, now time.Time) error {
	return d.changeOne(ctx, "token", "UPDATE api_token SET revoked_at = coalesce(revoked_at, ?) WHERE id = ?",
		now.Unix(), id)
}

// Tokens lists the tokens, newest first.
func (d *DB) Tokens(ctx context.Context) ([]Token, error) {
	var out []Token
	err := d.read(ctx, "list tokens", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readToken(r)); return nil },
			"SELECT "+tokenRead+" FROM api_token ORDER BY created_at DESC, id")
	})
	return out, err
}
