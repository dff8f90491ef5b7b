package web

import (
	"context"
	"path/filepath"
	"time"

	"reddside/internal/logbook"
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
	if s.db.ReadOnly() {
		return
	}
	flags := time.NewTicker(flagPeriod)
	defer flags.Stop()
	for {
		if err := s.syncAllFlags(ctx); err != nil && ctx.Err() == nil {
			s.log.Error("bring flags up to date", "err", err)
		}
		if _, err := s.db.Purge(ctx, s.clock()); err != nil && ctx.Err() == nil {
			s.log.Error("forget what has expired", "err", err)
		}
		if err := s.dailyBackup(ctx); err != nil && ctx.Err() == nil {
			s.log.Error("daily backup", "err", err)
		}
		if _, err := s.spool().expire(s.clock()); err != nil {
			s.log.Error("remove old uploads", "err", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-flags.C:
		}
	}
}

// program is the actor of what the program does by itself.
var program = logbook.Actor{Role: logbook.Coordinator, Label: "Reddside"}

// syncAllFlags raises and clears flags of every open season whose assessment
// differs from what is stored.
func (s *Server) syncAllFlags(ctx context.Context) error {
	now := s.clock()
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{OpenOnly: true})
	if err != nil {
		return err
	}
	open, err := s.db.OpenFlags(ctx)
	if err != nil {
		return err
	}
	entries, err := s.boardEntries(ctx, program, now)
	if err != nil {
		return err
	}
	stale := map[logbook.ID]bool{}
	for _, e := range entries {
		stale[e.SeasonID] = len(flagChanges(e.Assessment, open[e.SeasonID])) > 0
	}
	for _, h := range heads {
		if !stale[h.ID] {
			continue
		}
		if err := s.syncFlags(ctx, program, h.ID, now); err != nil {
			return err
		}
	}
	return nil
}

// dailyBackup writes a backup when the last one is a day old.
func (s *Server) dailyBackup(ctx context.Context) error {
	if s.demo || s.db.ReadOnly() {
		return nil
	}
	dir := s.backupDir()
	now := s.clock()
	list, err := store.ReadCopies(dir, now)
	if err != nil || now.Sub(list.Sound().Daily().LastAt()) < backupPeriod {
		return err
	}
	_, err = s.db.Nightly(ctx, dir, now)
	return err
}

// backupDir is where the daily backups are kept: beside the logbook.
func (s *Server) backupDir() string {
	return filepath.Join(filepath.Dir(s.db.Path()), store.BackupDir)
}
