package web

import (
	"context"
	"time"

	"reddside/internal/store"
)

// Times of the background work.
const (
	flagPeriod   = 10 * time.Minute // flags that rise by the calendar alone, like a missing check
	backupPeriod = 24 * time.Hour
)

// Background keeps the stored life of flags in step with the calendar and makes
// a backup each day, until ctx ends. Requests never wait for it.
func (s *Server) Background(ctx context.Context) {
	if s.DB.ReadOnly() {
		return
	}
	flags := time.NewTicker(flagPeriod)
	defer flags.Stop()
	for {
		if err := s.Assess.SyncAllFlags(ctx); err != nil && ctx.Err() == nil {
			s.Log.Error("bring flags up to date", "err", err)
		}
		if _, err := s.DB.Purge(ctx, s.Clock()); err != nil && ctx.Err() == nil {
			s.Log.Error("forget what has expired", "err", err)
		}
		if err := s.dailyBackup(ctx); err != nil && ctx.Err() == nil {
			s.Log.Error("daily backup", "err", err)
		}
		if _, err := s.imports.Spool().Expire(s.Clock()); err != nil {
			s.Log.Error("remove old uploads", "err", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-flags.C:
		}
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
