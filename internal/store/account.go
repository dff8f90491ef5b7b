package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// Account is a coordinator or keeper who signs in with a passphrase.
type Account struct {
	ID             logbook.ID
	Role           logbook.Role // coordinator or keeper; a class signs in as a device
	SiteID         logbook.ID   // empty for a coordinator
	Label          string
	PassphraseHash string // argon2id, as $argon2id$...
	Disabled       bool
	CreatedAt      time.Time
	Revision       int64 // a sign-in made under an older one has ended
}

// Actor is the account as the author of a change.
func (a Account) Actor() logbook.Actor {
	return logbook.Actor{AccountID: a.ID, Role: a.Role, SiteID: a.SiteID, Label: a.Label}
}

const accountRead = "id, role, coalesce(site_id, ''), label, passphrase_hash, disabled, created_at, revision"

func readAccount(r row) Account {
	return Account{ID: logbook.ID(r.text(0)), Role: logbook.Role(r.text(1)), SiteID: logbook.ID(r.text(2)),
		Label:          r.text(3),
		PassphraseHash: r.text(4), Disabled: r.flag(5), CreatedAt: r.at(6), Revision: r.int(7)}
}

// CreateAccount stores a new account.
func (d *DB) CreateAccount(ctx context.Context, a Account, now time.Time) (Account, error) {
	err := d.write(ctx, "create account", func(c *conn) error { return c.createAccount(ctx, &a, now) })
	return a, err
}

func (c *conn) createAccount(ctx context.Context, a *Account, now time.Time) error {
	if err := newID(&a.ID); err != nil {
		return err
	}
	if a.SiteID != "" {
		if _, err := c.site(ctx, a.SiteID); err != nil {
			return err
		}
	}
	a.CreatedAt, a.Revision = now.UTC().Truncate(time.Second), 1
	return c.insert(ctx, "account", "id, role, site_id, label, passphrase_hash, disabled, created_at",
		a.ID, a.Role, nullText(a.SiteID), a.Label, a.PassphraseHash, a.Disabled, now.Unix())
}

// SetPassphrase replaces the passphrase of an account.
func (d *DB) SetPassphrase(ctx context.Context, id logbook.ID, hash string) error {
	return d.changeOne(ctx, "account", "UPDATE account SET passphrase_hash = ?, revision = revision + 1 WHERE id = ?",
		hash, id)
}

// DisableAccount stops or allows sign-in.
func (d *DB) DisableAccount(ctx context.Context, id logbook.ID, disabled bool) error {
	return d.changeOne(ctx, "account", "UPDATE account SET disabled = ?, revision = revision + 1 WHERE id = ?",
		disabled, id)
}

// changeOne runs an update that must meet a row.
func (d *DB) changeOne(ctx context.Context, what, query string, args ...any) error {
	return d.write(ctx, "change "+what, func(c *conn) error {
		n, err := c.exec(ctx, query, args...)
		if err == nil && n == 0 {
			err = logbook.Missing(what)
		}
		return err
	})
}

// Account returns one account, disabled or not.
func (d *DB) Account(ctx context.Context, id logbook.ID) (a Account, err error) {
	err = d.read(ctx, "read account", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error { a = readAccount(r); return nil }, "SELECT "+accountRead+
			" FROM account WHERE id = ?", id)
		if err == nil && !found {
			err = logbook.Missing("account")
		}
		return err
	})
	return a, err
}

// Accounts lists the accounts: coordinators first, then by label.
func (d *DB) Accounts(ctx context.Context) ([]Account, error) {
	var out []Account
	err := d.read(ctx, "list accounts", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readAccount(r)); return nil },
			"SELECT "+accountRead+" FROM account ORDER BY role, label, id")
	})
	return out, err
}
