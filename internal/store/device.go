package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// Device is a paired tablet of a class.
type Device struct {
	ID, SiteID logbook.ID
	Label      string
	PairedAt   time.Time // zero while it waits for its code
	ExpiresAt  time.Time
	RevokedAt  time.Time // zero while it may be used
	CreatedAt  time.Time
	CreatedBy  string
	RevokedBy  string // label of who withdrew it
	// LastEntryAt is when it last sent something; zero for never.
	LastEntryAt time.Time
	// PairedAddress is the host and port under which it reached the server.
	PairedAddress string
}

// Usable reports whether the device may be used at now.
func (v *Device) Usable(now time.Time) bool {
	return !v.PairedAt.IsZero() && v.RevokedAt.IsZero() && v.ExpiresAt.After(now)
}

// Actor is the device as the author of a change.
func (v Device) Actor() logbook.Actor {
	return logbook.Actor{AccountID: v.ID, Role: logbook.Class, SiteID: v.SiteID, Label: v.Label}
}

const deviceRead = "id, site_id, label, paired_at, expires_at, revoked_at, created_at, created_by, revoked_by, last_entry_at, paired_address"

func readDevice(r row) Device {
	return Device{ID: logbook.ID(r.text(0)), SiteID: logbook.ID(r.text(1)), Label: r.text(2), PairedAt: r.at(3),
		ExpiresAt: r.at(4),
		RevokedAt: r.at(5), CreatedAt: r.at(6), CreatedBy: r.text(7),
		RevokedBy: r.text(8), LastEntryAt: r.at(9), PairedAddress: r.text(10)}
}

// InviteDevice stores a device that waits to be paired with a short code until
// codeUntil. v.SiteID, Label and ExpiresAt (of the paired device) are given.
func (d *DB) InviteDevice(ctx context.Context, actor logbook.Actor, v Device, codeHash string, codeUntil,
	now time.Time) (Device, error) {
	err := d.write(ctx, "invite device", func(c *conn) error {
		if err := newID(&v.ID); err != nil {
			return err
		}
		if !actor.MaySee(v.SiteID) {
			return logbook.Missing("site")
		}
		if _, err := c.site(ctx, v.SiteID); err != nil {
			return err
		}
		// A code that nobody used may come up again.
		if _, err := c.exec(ctx, "UPDATE device SET pair_code_hash = NULL WHERE pair_code_hash = ? AND pair_expires_at <= ?", codeHash, now.Unix()); err != nil {
			return err
		}
		v.CreatedAt, v.CreatedBy = now.UTC().Truncate(time.Second), actor.Label
		return c.insert(ctx, "device", "id, role, site_id, label, pair_code_hash, pair_expires_at, expires_at, created_at, created_by",
			v.ID, logbook.Class, v.SiteID, v.Label, codeHash, codeUntil.Unix(), v.ExpiresAt.Unix(), now.Unix(),
			v.CreatedBy)
	})
	return v, err
}

// PairDevice gives the device that waits for the code its token. A code works
// once; a wrong or old one is NotFound with error.pair_code. address is the host
// and port under which the device reached the server.
func (d *DB) PairDevice(ctx context.Context, codeHash, tokenHash, address string, now time.Time) (v Device, err error) {
	err = d.write(ctx, "pair device", func(c *conn) error {
		n, err := c.exec(ctx, `UPDATE device SET pair_code_hash = NULL, pair_expires_at = NULL, token_hash = ?, paired_at = ?, paired_address = ?
			WHERE pair_code_hash = ? AND pair_expires_at > ? AND revoked_at IS NULL AND expires_at > ?`,
			tokenHash, now.Unix(), address, codeHash, now.Unix(), now.Unix())
		if err != nil {
			return err
		}
		if n == 0 {
			return logbook.Errorf(logbook.NotFound, "error.pair_code", nil)
		}
		_, err = c.one(ctx, func(r row) error { v = readDevice(r); return nil }, "SELECT "+deviceRead+
			" FROM device WHERE token_hash = ?", tokenHash)
		return err
	})
	return v, err
}

// DeviceByToken returns the device that may be used now, or NotFound.
func (d *DB) DeviceByToken(ctx context.Context, tokenHash string, now time.Time) (v Device, err error) {
	err = d.read(ctx, "read device", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error { v = readDevice(r); return nil },
			"SELECT "+deviceRead+" FROM device WHERE token_hash = ? AND revoked_at IS NULL AND expires_at > ?",
			tokenHash, now.Unix())
		if err == nil && !found {
			err = logbook.Missing("device")
		}
		return err
	})
	return v, err
}

// RevokeDevice ends a device for good.
func (d *DB) RevokeDevice(ctx context.Context, actor logbook.Actor, id logbook.ID, now time.Time) error {
	return d.changeOne(ctx, "device", `UPDATE device SET revoked_by = CASE WHEN revoked_at IS NULL THEN ? ELSE revoked_by END,
		revoked_at = coalesce(revoked_at, ?), pair_code_hash = NULL WHERE id = ? AND (? OR site_id = ?)`,
		actor.Label, now.Unix(), id, actor.Role == logbook.Coordinator, actor.SiteID)
}

// Devices lists the devices of a site, or of all sites when site is empty.
func (d *DB) Devices(ctx context.Context, site logbook.ID) ([]Device, error) {
	var out []Device
	err := d.read(ctx, "list devices", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readDevice(r)); return nil },
			"SELECT "+deviceRead+" FROM device WHERE ?1 = '' OR site_id = ?1 ORDER BY site_id, created_at, id", site)
	})
	return out, err
}

// Device returns one device, usable or not.
func (d *DB) Device(ctx context.Context, id logbook.ID) (v Device, err error) {
	err = d.read(ctx, "read device", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error { v = readDevice(r); return nil }, "SELECT "+deviceRead+
			" FROM device WHERE id = ?", id)
		if err == nil && !found {
			err = logbook.Missing("device")
		}
		return err
	})
	return v, err
}

// DeviceEntered notes that a device sent something.
func (d *DB) DeviceEntered(ctx context.Context, id logbook.ID, now time.Time) error {
	return d.writeUnsynced(ctx, "note entry of device", func(c *conn) error {
		_, err := c.exec(ctx, "UPDATE device SET last_entry_at = ? WHERE id = ?", now.Unix(), id)
		return err
	})
}

// ServerAddresses lists the addresses of the last start on a network, in order.
func (d *DB) ServerAddresses(ctx context.Context) ([]string, error) {
	var out []string
	err := d.read(ctx, "list addresses", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, r.text(0)); return nil },
			"SELECT address FROM server_address ORDER BY address")
	})
	return out, err
}

// SetServerAddresses replaces the addresses of the last start.
func (d *DB) SetServerAddresses(ctx context.Context, addresses []string, now time.Time) error {
	return d.write(ctx, "store addresses", func(c *conn) error {
		if _, err := c.exec(ctx, "DELETE FROM server_address"); err != nil {
			return err
		}
		for _, a := range addresses {
			if err := c.insert(ctx, "server_address", "address, seen_at", a, now.Unix()); err != nil {
				return err
			}
		}
		return nil
	})
}
