package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"time"

	"reddside/internal/logbook"
)

// KeyLifetime is how long the answer to a create with a key is kept: longer
// than a holiday (a local choice).
const KeyLifetime = 30 * 24 * time.Hour

// IdempotencyKey makes a create safe to send again. The zero key does not. The same key
// and fingerprint give the stored row again; the same key with another
// fingerprint is refused with error.idempotency.mismatch. A second request that
// arrives while the first is running waits for it, since one connection
// writes, and then gets the first one's row.
type IdempotencyKey struct {
	Key         string // made by the client or the form, at least 128 bits
	Route       string // like "POST /api/v1/seasons/{id}/checks"
	Fingerprint string // SHA-256 of the payload, hex
}

// NewIdempotencyKey is the key of a payload: equal payloads have equal fingerprints. It
// errs for what JSON cannot hold.
func NewIdempotencyKey(key, route string, payload any) (IdempotencyKey, error) {
	b, err := json.Marshal(payload)
	if err != nil {
		return IdempotencyKey{}, err
	}
	sum := sha256.Sum256(b)
	return IdempotencyKey{Key: key, Route: route, Fingerprint: hex.EncodeToString(sum[:])}, nil
}

// created is the stored answer of a create.
type created struct {
	ID      logbook.ID   `json:"id"`
	Changes []FlagChange `json:"changes,omitempty"`
}

// actorKey keeps the keys of different clients apart.
func actorKey(a logbook.Actor) string {
	if a.AccountID != "" {
		return string(a.AccountID)
	}
	return string(a.Role) + "/" + string(a.SiteID) + "/" + a.Label
}

// find returns the stored answer of the key, or found false.
func (o IdempotencyKey) find(ctx context.Context, c *conn, actor logbook.Actor) (ans created, found bool, err error) {
	if o.Key == "" {
		return ans, false, nil
	}
	found, err = c.one(ctx, func(r row) error {
		if r.text(0) != o.Route || r.text(1) != o.Fingerprint {
			return logbook.Errorf(logbook.Invalid, "error.idempotency.mismatch", nil)
		}
		return json.Unmarshal([]byte(r.text(2)), &ans)
	}, "SELECT route, fingerprint, body FROM idempotency WHERE actor = ? AND key = ?", actorKey(actor), o.Key)
	return ans, found, err
}

// keep stores the answer in the transaction of the create itself.
func (o IdempotencyKey) keep(ctx context.Context, c *conn, actor logbook.Actor, now time.Time, ans created) error {
	if o.Key == "" {
		return nil
	}
	body, err := json.Marshal(ans)
	if err != nil {
		return err
	}
	return c.insert(ctx, "idempotency", "actor, key, route, fingerprint, status, body, created_at",
		actorKey(actor), o.Key, o.Route, o.Fingerprint, 201, string(body), now.Unix())
}

// do runs create unless the key was used: then it sets id and runs again.
func (o IdempotencyKey) do(ctx context.Context, c *conn, actor logbook.Actor, now time.Time, id *logbook.ID, create,
	again func() error) error {
	ans, found, err := o.find(ctx, c, actor)
	if err != nil {
		return err
	}
	if found {
		*id = ans.ID
		return again()
	}
	if err := create(); err != nil {
		return err
	}
	return o.keep(ctx, c, actor, now, created{ID: *id})
}

// Purge deletes what has outlived its use: idempotency keys, sessions, kept
// entries, known browsers. It returns the number of rows.
func (d *DB) Purge(ctx context.Context, now time.Time) (int64, error) {
	var sum int64
	err := d.write(ctx, "purge", func(c *conn) error {
		for _, q := range []struct {
			sql string
			at  time.Time
		}{
			{"DELETE FROM idempotency WHERE created_at < ?", now.Add(-KeyLifetime)},
			{"DELETE FROM session WHERE expires_at <= ?", now},
			{"DELETE FROM kept_post WHERE expires_at <= ?", now},
			{"DELETE FROM known_browser WHERE expires_at <= ?", now},
		} {
			n, err := c.exec(ctx, q.sql, q.at.Unix())
			if err != nil {
				return err
			}
			sum += n
		}
		return nil
	})
	return sum, err
}

// Answered reports whether the key has been used with the same payload; with
// another one it is refused with error.idempotency.mismatch.
func (d *DB) Answered(ctx context.Context, actor logbook.Actor, o IdempotencyKey) (answered bool, err error) {
	err = d.read(ctx, "read key", func(c *conn) error {
		_, answered, err = o.find(ctx, c, actor)
		return err
	})
	return answered, err
}
