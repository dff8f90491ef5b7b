package demo

import (
	"context"
	"fmt"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// Fill fills an empty logbook with the invented programme as it stands at now.
// The same now gives the same content, ids aside. It is refused with
// error.programme.exists when the logbook has a programme.
func Fill(ctx context.Context, db *store.DB, now time.Time) error {
	w, err := invent(now)
	if err != nil {
		return fmt.Errorf("invent a programme: %w", err)
	}
	// A context that can end costs a goroutine for each statement; the filler asks
	// between seasons instead.
	f := filler{err: ctx.Err, db: db, now: now, lots: map[*lot]logbook.ID{}}
	if err := f.fill(context.WithoutCancel(ctx), w); err != nil {
		return fmt.Errorf("store the invented programme: %w", err)
	}
	return nil
}

// filler stores a world through the same calls as entries of people.
type filler struct {
	db   *store.DB
	now  time.Time
	err  func() error // whether to stop
	lots map[*lot]logbook.ID

	tabletsMade bool // by the first school
}

func coordinator() logbook.Actor {
	return logbook.Actor{Role: logbook.Coordinator, Label: "Coordinator"}
}

func (f *filler) fill(ctx context.Context, w *world) error {
	p := logbook.Programme{Name: "Fry for the Ambleroot River", Language: "en", TemperatureUnit: units.Cel,
		Invented: true}
	if err := logbook.Refuse(p.Validate()); err != nil {
		return err
	}
	if _, err := f.db.CreateProgramme(ctx, coordinator(), p, w.founded); err != nil {
		return err
	}
	for _, l := range w.lots {
		stored, err := f.db.CreateLot(ctx, coordinator(), l.lot, w.founded, store.IdempotencyKey{})
		if err != nil {
			return err
		}
		f.lots[l] = stored.ID
	}
	for _, sc := range w.schools {
		if err := f.school(ctx, w, sc); err != nil {
			return err
		}
	}
	return nil
}

func (f *filler) school(ctx context.Context, w *world, sc *school) error {
	site, err := f.db.CreateSite(ctx, coordinator(), sc.site, w.founded, store.IdempotencyKey{})
	if err != nil {
		return err
	}
	sc.site.ID = site.ID
	if err := f.tablets(ctx, sc, site); err != nil {
		return err
	}
	for _, span := range sc.closed {
		if _, err := f.db.CreateClosedSpan(ctx, sc.keeper(), site.ID, span, w.founded,
			store.IdempotencyKey{}); err != nil {
			return err
		}
	}
	if err := f.duty(ctx, sc); err != nil {
		return err
	}
	for _, t := range sc.tanks {
		t.tank.SiteID = site.ID
		stored, err := f.db.CreateTank(ctx, coordinator(), t.tank, w.founded, store.IdempotencyKey{})
		if err != nil {
			return err
		}
		for _, s := range t.seasons {
			if err := f.err(); err != nil {
				return err
			}
			s.season.Tank.ID, s.season.Lot.ID = stored.ID, f.lots[s.lot]
			if err := f.season(ctx, sc, s); err != nil {
				return fmt.Errorf("%s, %s: %w", sc.site.Name, t.tank.Name, err)
			}
		}
	}
	return nil
}

// season stores a season with everything logged in it.
func (f *filler) season(ctx context.Context, sc *school, s *season) error {
	head := logbook.Season{Label: s.season.Label, ClosedOn: s.season.ClosedOn, Tank: s.season.Tank, Lot: s.season.Lot,
		ReleaseFrom: s.season.ReleaseFrom, ReleaseBy: s.season.ReleaseBy}
	started, err := f.db.StartSeason(ctx, coordinator(), head, s.season.Deliveries[0], s.startedAt,
		store.IdempotencyKey{})
	if err != nil {
		return err
	}
	actors := sc.actors()
	for i := range s.rows {
		s.rows[i].By = actors[s.rows[i].By.Role]
	}
	if len(s.rows) > 0 {
		if _, _, err := f.db.SaveLog(ctx, coordinator(), started.ID, s.rows, f.now, nil); err != nil {
			return err
		}
	}
	for _, c := range s.corrections {
		if _, err := f.db.CorrectCheck(ctx, actors[logbook.Keeper], c.check.ID, 1, c.check, c.reason, c.at,
			nil); err != nil {
			return err
		}
	}
	if err := f.released(ctx, actors[logbook.Keeper], started.ID, s); err != nil {
		return err
	}
	if err := f.remark(ctx, sc, s, started.ID); err != nil {
		return err
	}
	if s.readings == nil {
		return nil
	}
	s.readings.SeasonID = started.ID
	_, err = f.db.SaveReadings(ctx, actors[logbook.Keeper], *s.readings, s.season.Readings, s.readings.ReceivedAt, nil)
	return err
}

// released stores the record of the release of a season, entered when the release
// was.
func (f *filler) released(ctx context.Context, keeper logbook.Actor, id logbook.ID, s *season) error {
	if s.release == nil {
		return nil
	}
	stored, err := f.db.LoadSeason(ctx, id)
	if err != nil {
		return err
	}
	for i := range stored.Events {
		if e := &stored.Events[i]; e.Kind == logbook.Released {
			r := *s.release
			r.SeasonID, r.EventID = id, e.ID
			if err := logbook.Refuse(r.Validate()); err != nil {
				return err
			}
			if _, err := f.db.CreateRelease(ctx, keeper, r, e.ReceivedAt, store.Write{}); err != nil {
				return err
			}
		}
	}
	return nil
}
