package assess

import (
	"context"
	"hash/fnv"
	"strconv"
	"strings"
	"sync"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Evidence is what a forecast learns from beside its own season: the other tanks
// of the lot, and closed lots of the same supplier and species.
type Evidence struct {
	Siblings []forecast.Observation
	Past     []ClosedLot
	// Marks change when what was learnt from does.
	mark, pastMark uint64
}

// ClosedLot is what a lot whose seasons have all ended has shown.
type ClosedLot struct {
	forecast.PastLot
	ClosedOn civil.Date
}

// By returns the lots that had closed by a day: a forecast knows no more than
// its day did.
func (e Evidence) By(day civil.Date) []forecast.PastLot {
	var out []forecast.PastLot
	for _, l := range e.Past {
		if !l.ClosedOn.After(day) {
			out = append(out, l.PastLot)
		}
	}
	return out
}

// lotKind are the lots that tell about one another.
type lotKind struct {
	species  logbook.Species
	supplier string
}

// kindOf is false when the supplier is not known: then nothing is shared.
func kindOf(species logbook.Species, supplier string) (lotKind, bool) {
	s := strings.ToLower(strings.Join(strings.Fields(supplier), " "))
	return lotKind{species, s}, s != ""
}

// closedLots are the closed lots by kind, each kind with a mark that changes when
// any of its lots does.
type closedLots struct {
	byKind map[lotKind][]store.ClosedLot
	marks  map[lotKind]uint64
}

func (s *Service) closedLots(ctx context.Context) (closedLots, error) {
	out := closedLots{byKind: map[lotKind][]store.ClosedLot{}, marks: map[lotKind]uint64{}}
	lots, err := s.db.ClosedLots(ctx)
	if err != nil {
		return out, err
	}
	for _, l := range lots {
		if k, ok := kindOf(l.Species, l.Supplier); ok {
			out.byKind[k] = append(out.byKind[k], l)
		}
	}
	for k, lots := range out.byKind {
		h := fnv.New64a()
		for _, l := range lots {
			_, _ = h.Write([]byte(string(l.ID) + ":" + strconv.FormatInt(l.Revision, 10) + ";"))
		}
		out.marks[k] = h.Sum64()
	}
	return out, nil
}

func (c closedLots) markOf(species logbook.Species, supplier string) uint64 {
	k, _ := kindOf(species, supplier)
	return c.marks[k]
}

// lotCache keeps what closed lots have shown. A closed lot seldom changes, and
// its revision tells when it did. It is safe for concurrent use.
type lotCache struct {
	mu   sync.Mutex
	kept map[logbook.ID]keptLot
}

type keptLot struct {
	revision int64
	lot      ClosedLot
	ok       bool // its hatch was seen between two looks
}

// pastOf returns what the closed lots have shown that tell about a lot.
func (s *Service) pastOf(ctx context.Context, lot *logbook.Lot, all closedLots) ([]ClosedLot, error) {
	k, ok := kindOf(lot.Species, lot.Supplier)
	if !ok {
		return nil, nil
	}
	var out []ClosedLot
	for _, l := range all.byKind[k] {
		if l.ID == lot.ID {
			continue
		}
		kept, err := s.summedUp(ctx, l)
		if err != nil {
			return nil, err
		}
		if kept.ok {
			out = append(out, kept.lot)
		}
	}
	return out, nil
}

// summedUp returns what one closed lot has shown, from the cache when it stands
// there.
func (s *Service) summedUp(ctx context.Context, l store.ClosedLot) (keptLot, error) {
	s.lots.mu.Lock()
	kept, found := s.lots.kept[l.ID]
	s.lots.mu.Unlock()
	if found && kept.revision == l.Revision {
		return kept, nil
	}
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{LotID: l.ID})
	if err != nil {
		return kept, err
	}
	ids := make([]logbook.ID, 0, len(heads))
	for _, h := range heads {
		ids = append(ids, h.ID)
	}
	var seen []forecast.Observation
	err = s.db.LoadSeasons(ctx, ids, func(season *logbook.Season) error {
		r := forecast.Compute(forecast.Input{Season: season, Today: season.ClosedOn})
		seen = append(seen, r.Observations...)
		return nil
	})
	if err != nil {
		return kept, err
	}
	kept = keptLot{revision: l.Revision, lot: ClosedLot{ClosedOn: l.ClosedOn}}
	kept.lot.PastLot, kept.ok = forecast.PastLotOf(l.Code, seen)
	s.lots.mu.Lock()
	defer s.lots.mu.Unlock()
	if s.lots.kept == nil {
		s.lots.kept = map[logbook.ID]keptLot{}
	}
	s.lots.kept[l.ID] = kept
	return kept, nil
}

// fewStale is up to how many tanks are loaded one by one before a save. A lot is
// seldom larger.
const fewStale = 64

// Evidence gathers what a forecast of a season learns from, as of now.
func (s *Service) Evidence(ctx context.Context, season *logbook.Season, now time.Time) (Evidence, error) {
	var out Evidence
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{LotID: season.Lot.ID})
	if err != nil {
		return out, err
	}
	days := ZoneDays{Now: now, Days: map[string]civil.Date{}}
	lot := s.shown.lot(heads, days)
	if len(lot.stale(season.ID)) > 0 {
		store.Pause(ctx) // who is waited for may need a connection
		unlock := s.filling.lock(season.Lot.ID)
		lot = s.shown.lot(heads, days)
		err := s.load(ctx, lot.stale(season.ID), fewStale,
			func(other *logbook.Season) error { s.look(lot, other); return nil })
		unlock()
		if err != nil {
			return out, err
		}
	}
	out.Siblings, out.mark = lot.others(season.ID)
	all, err := s.closedLots(ctx)
	if err != nil {
		return out, err
	}
	out.pastMark = all.markOf(season.Lot.Species, season.Lot.Supplier)
	out.Past, err = s.pastOf(ctx, &season.Lot, all)
	return out, err
}

// EvidenceOn is evidence as it was on a day, which day tells for each tank.
func (s *Service) EvidenceOn(ctx context.Context, season *logbook.Season,
	day func(*logbook.Season) civil.Date) (Evidence, error) {
	var out Evidence
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{LotID: season.Lot.ID})
	if err != nil {
		return out, err
	}
	var ids []logbook.ID
	for _, h := range heads {
		if h.ID != season.ID {
			ids = append(ids, h.ID)
		}
	}
	err = s.db.LoadSeasons(ctx, ids, func(other *logbook.Season) error {
		r := forecast.Compute(forecast.Input{Season: other, Today: day(other)})
		out.Siblings = append(out.Siblings, r.Observations...)
		return nil
	})
	if err != nil {
		return out, err
	}
	all, err := s.closedLots(ctx)
	if err != nil {
		return out, err
	}
	out.Past, err = s.pastOf(ctx, &season.Lot, all)
	return out, err
}
