package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"time"

	"reddside/internal/logbook"
)

// HashToken is the form in which secrets of sign-in are stored: SHA-256, hex.
// The secrets themselves are random and long, so no salt is needed.
func HashToken(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// Sessions keeps sign-in sessions for scs (its Store and CtxStore interfaces).
// Tokens are stored as hashes.
type Sessions struct {
	db    *DB
	clock func() time.Time
}

// Sessions returns the session store; clock says what has expired.
func (d *DB) Sessions(clock func() time.Time) *Sessions { return &Sessions{db: d, clock: clock} }

// FindCtx returns the data of a session that has not expired.
func (s *Sessions) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	err = s.db.read(ctx, "find session", func(c *conn) (err error) {
		found, err = c.one(ctx, func(r row) error {
			data = append([]byte(nil), r.bytes(0)...)
			return nil
		}, "SELECT data FROM session WHERE token_hash = ? AND expires_at > ?", HashToken(token), s.clock().Unix())
		return err
	})
	return data, found, err
}

// CommitCtx stores the data of a session. It does not wait for the disk: after a
// power cut a person may have to sign in again. Where nothing can be stored, as
// on a full disk, a session that stands already stays as it is, so that pages
// are read on; only a new sign-in fails.
func (s *Sessions) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	err := s.commit(ctx, token, data, expiry)
	if logbook.KindOf(err) != logbook.Unavailable {
		return err
	}
	if _, stands, ferr := s.FindCtx(ctx, token); ferr != nil || !stands {
		return err
	}
	return nil
}

func (s *Sessions) commit(ctx context.Context, token string, data []byte, expiry time.Time) error {
	return s.db.writeUnsynced(ctx, "commit session", func(c *conn) error {
		_, err := c.exec(ctx, `INSERT INTO session (token_hash, data, expires_at) VALUES (?, ?, ?)
			ON CONFLICT (token_hash) DO UPDATE SET data = excluded.data, expires_at = excluded.expires_at`,
			HashToken(token), data, expiry.Unix())
		return err
	})
}

// DeleteCtx ends a session.
func (s *Sessions) DeleteCtx(ctx context.Context, token string) error {
	return s.db.write(ctx, "delete session", func(c *conn) error {
		_, err := c.exec(ctx, "DELETE FROM session WHERE token_hash = ?", HashToken(token))
		return err
	})
}

// Find is FindCtx without a context.
func (s *Sessions) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

// Commit is CommitCtx without a context.
func (s *Sessions) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

// Delete is DeleteCtx without a context.
func (s *Sessions) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }
