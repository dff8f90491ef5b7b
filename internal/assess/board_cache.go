package assess

import (
	"context"
	"sort"
	"sync"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// boardEntry is what the board shows of one season: its assessment without the
// daily rows, which would fill the memory.
type BoardEntry struct {
	key      boardKey
	Site     logbook.Site
	Tank     logbook.Tank
	Lot      logbook.Lot
	SeasonID logbook.ID
	Label    string
	Today    civil.Date
	// ReleaseFrom and ReleaseBy are the permitted days, zero when not known.
	ReleaseFrom, ReleaseBy civil.Date
	Alive                  int // by the log
	Ruler                  RulerPlaces
	Forecast               forecast.Result  // without Days, Notes, Models and Observations
	Assessment             rules.Assessment // its Status counts only flags that are not set aside
	Life                   boardLife
}

// boardKey tells whether a cached entry is still true: whatever enters an
// assessment changes one of its parts. The lot's revision changes with every
// write to any of its seasons, so that a hatch in one tank reaches the others.
type boardKey struct {
	season, lot, profile int64
	setup                int64  // of site and tank rows
	past                 uint64 // of the closed lots of the supplier and species
	today                civil.Date
}

// boardCache keeps the entries of open seasons. It is safe for concurrent use.
type boardCache struct {
	mu      sync.Mutex
	entries map[logbook.ID]*BoardEntry
	// fill lets one request at a time compute what is stale; the others wait for
	// it and find the work done.
	fill sync.Mutex
}

func newBoardCache() *boardCache { return &boardCache{entries: map[logbook.ID]*BoardEntry{}} }

// maxGroup bounds how many seasons are in memory at once while the board is
// computed. Lots are kept together, since their tanks learn from one another.
const maxGroup = 64

// boardEntries returns the entries of the open seasons that the actor may see,
// computing only those that changed. Entries are shared: do not change them.
func (s *Service) BoardEntries(ctx context.Context, actor logbook.Actor, now time.Time) ([]*BoardEntry, error) {
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{SiteID: actor.SiteID, OpenOnly: true})
	if err != nil {
		return nil, err
	}
	profile, err := s.Profile(ctx)
	if err != nil {
		return nil, err
	}
	closed, err := s.closedLots(ctx)
	if err != nil {
		return nil, err
	}
	keys := boardKeys{ZoneDays: ZoneDays{Now: now, Days: map[string]civil.Date{}}, profile: profile.Revision, closed: closed}
	if out, stale := s.board.lookup(heads, keys); len(stale) == 0 {
		return out, nil
	}
	s.board.fill.Lock()
	defer s.board.fill.Unlock()
	out, stale := s.board.lookup(heads, keys)
	if len(stale) == 0 {
		return out, nil
	}
	if err := s.fillBoard(ctx, stale, profile, keys); err != nil {
		return nil, err
	}
	out, _ = s.board.lookup(heads, keys)
	return out, nil
}

// zoneDays remembers today's date by zone: a thousand tanks share few zones.
type ZoneDays struct {
	Now  time.Time
	Days map[string]civil.Date
}

func (z ZoneDays) Today(zone string) civil.Date {
	d, ok := z.Days[zone]
	if !ok {
		d = civil.In(z.Now, logbook.Site{Zone: zone}.Location())
		z.Days[zone] = d
	}
	return d
}

// boardKeys is what the keys of one look at the board share.
type boardKeys struct {
	ZoneDays
	profile int64
	closed  closedLots
	lives   map[logbook.ID][]store.Flag // open flags and those that ended unseen, while stale entries are computed
}

func (k boardKeys) of(h store.SeasonHead) boardKey {
	return boardKey{season: h.Revision, lot: h.LotRevision, profile: k.profile, setup: h.SetupRevision, past: k.closed.markOf(h),
		today: k.Today(h.Zone)}
}

// lookup returns the entries that are still true and the heads of the others.
func (b *boardCache) lookup(heads []store.SeasonHead, k boardKeys) (out []*BoardEntry, stale []store.SeasonHead) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, h := range heads {
		if e := b.entries[h.ID]; e != nil && e.key == k.of(h) {
			out = append(out, e)
		} else {
			stale = append(stale, h)
		}
	}
	return out, stale
}

// fillBoard computes the stale entries, lot by lot.
func (s *Service) fillBoard(ctx context.Context, stale []store.SeasonHead, profile *rules.Profile, k boardKeys) error {
	keys := map[logbook.ID]boardKey{}
	byLot := map[logbook.ID]bool{}
	for _, h := range stale {
		keys[h.ID] = k.of(h)
		byLot[h.LotID] = true
	}
	// Observations come from every season of a lot, closed ones and other
	// schools' included.
	all, err := s.db.SeasonHeads(ctx, store.SeasonFilter{})
	if err != nil {
		return err
	}
	lives, err := s.boardLives(ctx)
	if err != nil {
		return err
	}
	k.lives = lives
	sort.SliceStable(all, func(i, j int) bool { return all[i].LotID < all[j].LotID })
	var group []logbook.ID
	for i, h := range all {
		if byLot[h.LotID] {
			group = append(group, h.ID)
		}
		lotEnds := i+1 == len(all) || all[i+1].LotID != h.LotID
		if lotEnds && (len(group) >= maxGroup || i+1 == len(all)) {
			if err := s.fillGroup(ctx, group, keys, profile, k); err != nil {
				return err
			}
			group = group[:0]
		}
	}
	return nil
}

// fillGroup computes the seasons of whole lots.
func (s *Service) fillGroup(ctx context.Context, ids []logbook.ID, keys map[logbook.ID]boardKey, profile *rules.Profile, k boardKeys) error {
	if len(ids) == 0 {
		return nil
	}
	var seasons []*logbook.Season
	seen := map[logbook.ID][]forecast.Observation{}
	err := s.db.LoadSeasons(ctx, ids, func(season *logbook.Season) error {
		seasons = append(seasons, season)
		return nil
	})
	if err != nil {
		return err
	}
	lots := map[logbook.ID]int{}
	for _, season := range seasons {
		lots[season.Lot.ID]++
	}
	for _, season := range seasons {
		if lots[season.Lot.ID] > 1 {
			r := forecast.Compute(forecast.Input{Season: season, Today: s.Today(season.Site, k.Now)})
			seen[season.Lot.ID] = append(seen[season.Lot.ID], r.Observations...)
		}
	}
	for _, season := range seasons {
		key, wanted := keys[season.ID]
		if !wanted {
			continue
		}
		var known Evidence
		for _, o := range seen[season.Lot.ID] {
			if o.Season != season.ID {
				known.Siblings = append(known.Siblings, o)
			}
		}
		if known.Past, err = s.pastOf(ctx, &season.Lot, k.closed); err != nil {
			return err
		}
		s.board.put(newBoardEntry(s.Compute(season, known, profile, k.Now), k.lives[season.ID], key))
	}
	return nil
}

func newBoardEntry(a Result, flags []store.Flag, key boardKey) *BoardEntry {
	life := boardLifeOf(&a, LivesOf(flags))
	f := a.Forecast
	ruler := PlaceRuler(RulerSeason{FertilisedOn: a.Season.Lot.FertilisedOn, ReleaseFrom: a.Season.ReleaseFrom, ReleaseBy: a.Season.ReleaseBy}, &f)
	f.Days, f.Notes, f.Models, f.Observations, f.Questions = nil, nil, nil, nil, nil
	return &BoardEntry{
		key: key, Site: a.Season.Site, Tank: a.Season.Tank, Lot: a.Season.Lot, SeasonID: a.Season.ID, Label: a.Season.Label,
		Today: a.Today, ReleaseFrom: a.Season.ReleaseFrom, ReleaseBy: a.Season.ReleaseBy, Alive: a.Season.TotalsOn(a.Today).Alive, Ruler: ruler, Forecast: f, Assessment: a.Assessment, Life: life,
	}
}

func (b *boardCache) put(e *BoardEntry) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.entries[e.SeasonID] = e
}
