package web

import (
	"context"
	"time"

	"reddside/internal/assess"
	"reddside/internal/store"
	"reddside/internal/web/imports"
)

// Times of the background work.
const (
	flagPeriod   = 10 * time.Minute // flags that rise by the calendar alone, like a missing check
	backupPeriod = 24 * time.Hour
)

// Background keeps the stored life of flags in step with the calendar and makes
// a backup each day, until ctx ends. Requests never wait for it. The database may be
// closed when it has returned.
func (s *Server) Background(ctx context.Context) {
	if s.DB.ReadOnly() {
		return
	}
	flags := time.NewTicker(flagPeriod)
	defer flags.Stop()
	for {
		s.apart(ctx, "bring flags up to date", func() error { return s.Assess.SyncAllFlags(ctx) })
		s.apart(ctx, "forget what has expired", func() error { _, err := s.DB.Purge(ctx, s.Clock()); return err })
		s.apart(ctx, "daily backup", func() error { return s.dailyBackup(ctx) })
		s.apart(ctx, "remove old uploads",
			func() error { _, err := imports.SpoolOf(s.DB).Expire(s.Clock()); return err })
		select {
		case <-ctx.Done():
			return
		case <-flags.C:
		}
	}
}

// apart does one of the works by itself: what it fails with goes to the log, and
// the others go on.
func (s *Server) apart(ctx context.Context, name string, do func() error) {
	if err := assess.Guard(do); err != nil && ctx.Err() == nil {
		s.Log.Error(name, "err", err)
	}
}

// dailyBackup writes a backup when the last one is a day old.
func (s *Server) dailyBackup(ctx context.Context) error {
	if s.Demo || s.DB.ReadOnly() {
		return nil
	}
	dir := s.BackupDir()
	now := s.Clock()
	list, err := store.ReadCopies(dir, now)
	if err != nil || now.Sub(list.Sound().Daily().LastAt()) < backupPeriod {
		return err
	}
	_, err = s.DB.Nightly(ctx, dir, now)
	return err
}
