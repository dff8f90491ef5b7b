package entries

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Rows are how rows of the whole programme are written, as permits are.
type Rows[T any] struct {
	Fields []logbook.Field[T]
	ID     func(*T) *logbook.ID
	Entry  func(*T) *logbook.Entry
	List   func(context.Context) ([]T, error)
	One    func(context.Context, logbook.ID) (T, error)

	judge  func(*T) []logbook.Problem
	name   string // of the field that no two rows share
	taken  string // key of a name that is taken
	create func(context.Context, logbook.Actor, T, time.Time, store.IdempotencyKey) (T, error)
	update func(context.Context, logbook.Actor, T, bool, string, time.Time) (T, error)
}

// Permits are how permits are written.
func (s *Service) Permits() Rows[logbook.Permit] {
	return Rows[logbook.Permit]{Fields: logbook.PermitFields(), name: "number", taken: "permit.taken",
		ID:    func(p *logbook.Permit) *logbook.ID { return &p.ID },
		Entry: func(p *logbook.Permit) *logbook.Entry { return &p.Entry },
		List:  s.db.Permits, One: s.db.Permit, judge: (*logbook.Permit).Validate, create: s.db.CreatePermit,
		update: func(ctx context.Context, actor logbook.Actor, p logbook.Permit, void bool, reason string,
			now time.Time) (logbook.Permit, error) {
			under, err := s.db.PermitSeasons(ctx)
			if err != nil {
				return p, err
			}
			if p, err = s.db.UpdatePermit(ctx, actor, p, void, reason, now); err == nil {
				err = s.syncSeasons(ctx, actor, under[p.ID], now)
			}
			return p, err
		}}
}

// ReleasePlaces are how places of release are written.
func (s *Service) ReleasePlaces() Rows[logbook.ReleasePlace] {
	return Rows[logbook.ReleasePlace]{Fields: logbook.PlaceFields(), name: "name", taken: "place.taken",
		ID:    func(p *logbook.ReleasePlace) *logbook.ID { return &p.ID },
		Entry: func(p *logbook.ReleasePlace) *logbook.Entry { return &p.Entry },
		List:  s.db.ReleasePlaces, One: s.db.ReleasePlace, judge: (*logbook.ReleasePlace).Validate,
		create: s.db.CreateReleasePlace, update: s.db.UpdateReleasePlace}
}

// Judge returns what is wrong with a row among those that are stored.
func (k Rows[T]) Judge(ctx context.Context, v *T) ([]logbook.Problem, error) {
	out := k.judge(v)
	have, err := k.List(ctx)
	name := logbook.FieldOf(k.Fields, k.name)
	for i := range have {
		if *k.ID(&have[i]) != *k.ID(v) && logbook.SameName(name.Text(&have[i]), name.Text(v)) {
			out = append(out, logbook.Problem{Field: k.name, Key: k.taken, Args: logbook.Args{"Name": name.Text(v)}})
		}
	}
	return out, err
}

// New judges and stores a row; one that was answered before is not judged again.
func (k Rows[T]) New(ctx context.Context, actor logbook.Actor, v T, now time.Time, once store.IdempotencyKey,
	answered bool) (T, error) {
	if !answered {
		problems, err := k.Judge(ctx, &v)
		if err == nil {
			err = logbook.Refuse(problems)
		}
		if err != nil {
			return v, err
		}
	}
	return k.create(ctx, actor, v, now, once)
}

// Change judges and stores a change with its reason, or takes the row back.
func (k Rows[T]) Change(ctx context.Context, actor logbook.Actor, v T, void bool, reason string,
	now time.Time) (T, error) {
	problems := logbook.ValidateCorrection(reason)
	if !void {
		judged, err := k.Judge(ctx, &v)
		if err != nil {
			return v, err
		}
		problems = append(problems, judged...)
	}
	if err := logbook.Refuse(problems); err != nil {
		return v, err
	}
	return k.update(ctx, actor, v, void, reason, now)
}

// AttachPermit puts seasons under a permit, and others under none.
func (s *Service) AttachPermit(ctx context.Context, actor logbook.Actor, permit logbook.ID, attach, detach []logbook.ID,
	now time.Time) error {
	under, err := s.db.PermitSeasons(ctx)
	if err != nil {
		return err
	}
	var off []logbook.ID
	for _, id := range detach { // what is under another permit stays there
		for _, have := range under[permit] {
			if have == id {
				off = append(off, id)
			}
		}
	}
	if err := s.db.AttachPermit(ctx, actor, permit, attach, now); err != nil {
		return err
	}
	if len(off) > 0 {
		if err := s.db.AttachPermit(ctx, actor, "", off, now); err != nil {
			return err
		}
	}
	return s.syncSeasons(ctx, actor, append(off, attach...), now)
}

// syncSeasons brings the flags of seasons up to date whose days have changed.
func (s *Service) syncSeasons(ctx context.Context, actor logbook.Actor, ids []logbook.ID, now time.Time) error {
	for _, id := range ids {
		if err := s.Assess.SyncFlags(ctx, actor, id, now); err != nil {
			return err
		}
	}
	return nil
}
