package demo

import (
	"context"
	"crypto/rand"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// tablets gives the first school a tablet in use and one that was withdrawn.
// Nobody holds their tokens.
func (f *filler) tablets(ctx context.Context, sc *school, site logbook.Site) error {
	if f.tabletsMade {
		return nil
	}
	f.tabletsMade = true
	for i, label := range []string{"Room 12 tablet", "Library tablet, screen broken"} {
		made := f.now.AddDate(0, 0, -40+10*i)
		code, token := store.HashToken(rand.Text()), store.HashToken(rand.Text())
		d, err := f.db.InviteDevice(ctx, sc.keeper(), store.Device{SiteID: site.ID, Label: label,
			ExpiresAt: f.now.AddDate(0, 5, 0)},
			code, made.Add(time.Minute), made)
		if err != nil {
			return err
		}
		if _, err := f.db.PairDevice(ctx, code, token, "", made); err != nil {
			return err
		}
		if i == 1 {
			err = f.db.RevokeDevice(ctx, sc.keeper(), d.ID, f.now.AddDate(0, 0, -6))
		}
		if err != nil {
			return err
		}
	}
	return nil
}
