package assess

import (
	"context"
	"fmt"
	"hash/fnv"
	"sync"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// wordsCache keeps what the tanks have shown to the other tanks of their lots: a
// save changes one of them and asks about them all. It is safe for concurrent
// use.
type wordsCache struct {
	mu   sync.Mutex
	kept map[logbook.ID]shownBy
}

// shownKey is from what it was worked out what a tank has shown.
type shownKey struct {
	season, setup, lot int64 // revisions
	day                civil.Date
}

// shownBy is what a tank has shown by a day.
type shownBy struct {
	shownKey
	seen []forecast.Observation
	mark uint64 // of seen; 0 for nothing
}

// maxShown bounds the cache; a programme has fewer open tanks.
const maxShown = 20000

func shownKeyOf(h store.SeasonHead, days ZoneDays) shownKey {
	return shownKey{season: h.Revision, setup: h.SetupRevision, lot: h.LotEdits, day: days.Today(h.Zone)}
}

func newShown(k shownKey, seen []forecast.Observation) shownBy {
	out := shownBy{shownKey: k, seen: seen}
	if len(seen) > 0 {
		h := fnv.New64a()
		_, _ = fmt.Fprintf(h, "%#v", seen)
		out.mark = h.Sum64() | 1
	}
	return out
}

func (c *wordsCache) put(id logbook.ID, k shownBy) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.kept == nil || len(c.kept) >= maxShown {
		c.kept = map[logbook.ID]shownBy{}
	}
	c.kept[id] = k
}

// lotShown is what the tanks of a lot have shown, in the order of its heads.
type lotShown struct {
	heads []store.SeasonHead
	keys  []shownKey
	by    []shownBy
	known []bool
}

// lot returns what is kept of the tanks of a lot.
func (c *wordsCache) lot(heads []store.SeasonHead, days ZoneDays) *lotShown {
	l := &lotShown{heads: heads, keys: make([]shownKey, len(heads)), by: make([]shownBy, len(heads)),
		known: make([]bool, len(heads))}
	c.mu.Lock()
	defer c.mu.Unlock()
	for i, h := range heads {
		l.keys[i] = shownKeyOf(h, days)
		k, ok := c.kept[h.ID]
		if l.known[i] = ok && k.shownKey == l.keys[i]; l.known[i] {
			l.by[i] = k
		}
	}
	return l
}

// stale lists the tanks of which nothing true is kept, but for one that asks. A
// tank alone in its lot has nobody to tell.
func (l *lotShown) stale(but logbook.ID) (out []logbook.ID) {
	if len(l.heads) < 2 {
		return nil
	}
	for i, h := range l.heads {
		if !l.known[i] && h.ID != but {
			out = append(out, h.ID)
		}
	}
	return out
}

// others returns what a tank learns from the others of its lot, and the mark of
// that.
func (l *lotShown) others(id logbook.ID) (seen []forecast.Observation, mark uint64) {
	marks := l.marks()
	for i, h := range l.heads {
		if h.ID == id {
			mark = marks[i]
		} else {
			seen = append(seen, l.by[i].seen...)
		}
	}
	return seen, mark
}

// marks returns, for each tank of the lot, a mark that changes when what the others
// have shown does.
func (l *lotShown) marks() []uint64 {
	out, sum := make([]uint64, len(l.by)), uint64(0)
	for i, k := range l.by {
		if k.mark != 0 {
			out[i] = scatter(k.mark + uint64(i)*0x9e3779b97f4a7c15) // the order counts: sums of floats depend on it
		}
		sum += out[i]
	}
	for i := range out {
		out[i] = sum - out[i]
	}
	return out
}

// scatter is the finaliser of SplitMix64 (Steele, Lea and Flood 2014): a bit of x
// changes about half of the result, so that a sum of marks is a mark.
func scatter(x uint64) uint64 {
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// look works out what a tank of the lot has shown, for this lot and for the next to
// ask.
func (s *Service) look(l *lotShown, season *logbook.Season) {
	for i, h := range l.heads {
		if h.ID != season.ID {
			continue
		}
		l.by[i] = newShown(l.keys[i], forecast.Compute(forecast.Input{Season: season,
			Today: l.keys[i].day}).Observations)
		l.known[i] = true
		if season.Revision == h.Revision { // else it was written to since
			s.shown.put(h.ID, l.by[i])
		}
		return
	}
}

// load calls fn with each season of ids. Up to few are loaded one by one: the store
// has those in memory that were written to last.
func (s *Service) load(ctx context.Context, ids []logbook.ID, few int, fn func(*logbook.Season) error) error {
	if len(ids) > few {
		return s.db.LoadSeasons(ctx, ids, fn)
	}
	for _, id := range ids {
		season, err := s.db.LoadSeason(ctx, id)
		if err != nil {
			return err
		}
		if err := fn(season); err != nil {
			return err
		}
	}
	return nil
}
