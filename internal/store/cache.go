package store

import (
	"context"
	"slices"
	"strings"
	"sync"

	"reddside/internal/logbook"
)

// cacheBytes bounds the seasons kept in memory, roughly.
const cacheBytes = 24 << 20

// seasonCache keeps seasons as they were loaded. Every write to a season, its
// tank, its site or its lot's details gives it a new revision, so a kept season
// of the revision that stands in the file is the season that stands in the
// file, whoever wrote it. Only the revision of the lot can run ahead.
type seasonCache struct {
	mu    sync.Mutex
	kept  map[logbook.ID]*logbook.Season
	bytes int
}

// get returns a copy of a season of a revision, or nil.
func (k *seasonCache) get(id logbook.ID, revision int64) *logbook.Season {
	k.mu.Lock()
	s := k.kept[id]
	k.mu.Unlock()
	if s == nil || s.Revision != revision {
		return nil
	}
	return cloneSeason(s) // a kept season is never changed
}

// put keeps a season that has been committed; it must not be changed any more.
func (k *seasonCache) put(s *logbook.Season) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if old := k.kept[s.ID]; old != nil {
		if old.Revision > s.Revision {
			return
		}
		k.bytes -= weight(old)
	}
	if k.kept == nil {
		k.kept = map[logbook.ID]*logbook.Season{}
	}
	k.kept[s.ID] = s
	k.bytes += weight(s)
	for id, old := range k.kept { // map order: any of them
		if k.bytes <= cacheBytes {
			return
		}
		delete(k.kept, id)
		k.bytes -= weight(old)
	}
}

// weight is about the memory of a season.
func weight(s *logbook.Season) int {
	return 5000 + 900*(len(s.Checks)+len(s.Voided)) + 500*(len(s.Events)+len(s.Deliveries)+len(s.Guesses)+
		len(s.Releases)+len(s.Samples)) + 80*len(s.Readings)
}

// cloneSeason copies a season so that its lists can be changed.
func cloneSeason(s *logbook.Season) *logbook.Season {
	out := *s
	out.Deliveries, out.Checks, out.Voided = slices.Clone(s.Deliveries), slices.Clone(s.Checks), slices.Clone(s.Voided)
	out.Events, out.Readings, out.ClosedDays = slices.Clone(s.Events), slices.Clone(s.Readings),
		slices.Clone(s.ClosedDays)
	out.Guesses, out.Releases, out.Samples = slices.Clone(s.Guesses), slices.Clone(s.Releases), slices.Clone(s.Samples)
	if s.Plan != nil {
		plan := *s.Plan
		plan.Steps, plan.Targets = slices.Clone(plan.Steps), slices.Clone(plan.Targets)
		out.Plan = &plan
	}
	return &out
}

// season returns a season whole as the transaction sees it.
func (c *conn) season(ctx context.Context, id logbook.ID) (*logbook.Season, error) {
	revision, lot, err := c.revisions(ctx, id)
	if err != nil {
		return nil, err
	}
	if s := c.cache.get(id, revision); s != nil {
		s.Lot.Revision = lot
		return s, nil
	}
	var s *logbook.Season
	if err := c.seasons(ctx, []logbook.ID{id}, func(got *logbook.Season) error { s = got; return nil }); err != nil {
		return nil, err
	}
	c.fresh = append(c.fresh, cloneSeason(s))
	return s, nil
}

// grown returns the season after one row was added and its revision bumped,
// made from the kept season of the revision before; nil when that is not kept.
func (c *conn) grown(ctx context.Context, id logbook.ID, add func(*logbook.Season)) (*logbook.Season, error) {
	revision, lot, err := c.revisions(ctx, id)
	if err != nil {
		return nil, err
	}
	s := c.cache.get(id, revision-1)
	if s == nil {
		return nil, nil
	}
	s.Revision, s.Lot.Revision = revision, lot
	add(s)
	c.fresh = append(c.fresh, cloneSeason(s))
	return s, nil
}

func (c *conn) revisions(ctx context.Context, id logbook.ID) (season, lot int64, err error) {
	found, err := c.one(ctx, func(r row) error { season, lot = r.int(0), r.int(1); return nil },
		"SELECT season.revision, lot.revision FROM season JOIN lot ON lot.id = lot_id WHERE season.id = ?", id)
	if err == nil && !found {
		err = logbook.Missing("season")
	}
	return season, lot, err
}

// The order of entries in a season. IDs only make it the same every time.

func sortDeliveries(list []logbook.Delivery) {
	slices.SortFunc(list, func(a, b logbook.Delivery) int {
		return first(a.On.Compare(b.On), strings.Compare(string(a.ID), string(b.ID)))
	})
}

func sortChecks(list []logbook.Check) {
	slices.SortFunc(list, func(a, b logbook.Check) int {
		return first(a.On.Compare(b.On), a.Slot.Order()-b.Slot.Order(), strings.Compare(string(a.ID), string(b.ID)))
	})
}

// On one day the time on the wall orders events, then the order of entry.
func sortEvents(list []logbook.Event) {
	slices.SortFunc(list, func(a, b logbook.Event) int {
		return first(a.On.Compare(b.On), strings.Compare(a.Time, b.Time), a.ReceivedAt.Compare(b.ReceivedAt),
			strings.Compare(string(a.ID), string(b.ID)))
	})
}

// first returns the first comparison that decides.
func first(cmp ...int) int {
	for _, c := range cmp {
		if c != 0 {
			return c
		}
	}
	return 0
}
