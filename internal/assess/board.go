package assess

import (
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// BoardEntry is what the board shows of one season: its assessment without the
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
	Alive                  int  // by the log
	Gone                   bool // all were released
	Ruler                  RulerPlaces
	Forecast               forecast.Result  // without Days, Notes, Models and Observations
	Assessment             rules.Assessment // its Status counts only flags that are not set aside
	Life                   boardLife
	Harm                   rules.Harm // worst of the flags that are not set aside
	entryAt                time.Time  // of the newest entry
}

// boardKey tells whether a cached entry is still true: whatever enters an
// assessment changes one of its parts. Of the other tanks of the lot only what
// they have shown counts: a hatch does, a count of dead does not.
type boardKey struct {
	season, profile int64
	setup           int64  // of site and tank rows
	lot             uint64 // of what the other tanks of the lot have shown
	past            uint64 // of the closed lots of the supplier and species
	today           civil.Date
}

// boardCache keeps the entries of open seasons. It is safe for concurrent use.
type boardCache struct {
	mu      sync.Mutex
	entries map[logbook.ID]*BoardEntry
	drafts  map[logbook.ID]*BoardEntry // without Life: of seasons just saved
	judging map[logbook.ID]judged      // of writes that are not committed yet
}

func newBoardCache() *boardCache {
	return &boardCache{entries: map[logbook.ID]*BoardEntry{}, drafts: map[logbook.ID]*BoardEntry{},
		judging: map[logbook.ID]judged{}}
}

// maxGroup bounds how many seasons are in memory at once while the board is
// computed. Lots are kept together, since their tanks learn from one another.
const maxGroup = 64

// BoardEntries returns the entries of the open seasons that the actor may see,
// computing only those that changed. Entries are shared: do not change them.
func (s *Service) BoardEntries(ctx context.Context, actor logbook.Actor, now time.Time) ([]*BoardEntry, error) {
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{SiteID: actor.SiteID, OpenOnly: true, LotMates: true})
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
	look := boardLook{ZoneDays: ZoneDays{Now: now, Days: map[string]civil.Date{}}, site: actor.SiteID, profile: profile,
		closed:  closed,
		entries: map[logbook.ID]*BoardEntry{}}
	var group []logbook.ID // lots
	n := 0
	for _, lot := range byLot(heads) {
		if len(s.stillTrue(look, s.shown.lot(lot, look.ZoneDays))) == 0 {
			continue
		}
		if n+len(lot) > maxGroup && n > 0 {
			if err := s.fillLots(ctx, group, look); err != nil {
				return nil, err
			}
			group, n = group[:0], 0
		}
		group, n = append(group, lot[0].LotID), n+len(lot)
	}
	if err := s.fillLots(ctx, group, look); err != nil {
		return nil, err
	}
	out := make([]*BoardEntry, 0, len(heads))
	for _, h := range heads {
		if e := look.entries[h.ID]; e != nil {
			out = append(out, e)
		}
	}
	return out, nil
}

// byLot groups heads by lot and keeps their order.
func byLot(heads []store.SeasonHead) [][]store.SeasonHead {
	at := map[logbook.ID]int{}
	var out [][]store.SeasonHead
	for _, h := range heads {
		i, ok := at[h.LotID]
		if !ok {
			i = len(out)
			at[h.LotID], out = i, append(out, nil)
		}
		out[i] = append(out[i], h)
	}
	return out
}

// ZoneDays remembers today's date by zone: a thousand tanks share few zones.
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

// boardLook is one look at the board: what its keys share, and the entries found.
type boardLook struct {
	ZoneDays
	site    logbook.ID // "" for all
	profile *rules.Profile
	closed  closedLots
	entries map[logbook.ID]*BoardEntry
}

func (k *boardLook) wants(h store.SeasonHead) bool {
	return !h.Closed && (k.site == "" || h.SiteID == k.site)
}

func (k *boardLook) key(h store.SeasonHead, lot uint64) boardKey {
	return boardKey{season: h.Revision, profile: k.profile.Revision, setup: h.SetupRevision, lot: lot,
		past: k.closed.markOf(h.Species, h.Supplier), today: k.Today(h.Zone)}
}

// stillTrue takes the entries of a lot that are still true into the look, and
// returns the others by their keys.
func (s *Service) stillTrue(k boardLook, lot *lotShown) map[logbook.ID]boardKey {
	stale := map[logbook.ID]boardKey{}
	unknown := lot.stale("")
	marks := lot.marks()
	b := s.board
	b.mu.Lock()
	defer b.mu.Unlock()
	for i, h := range lot.heads {
		if !k.wants(h) {
			continue
		}
		key, e := k.key(h, marks[i]), b.entries[h.ID]
		if len(unknown) == 0 && e != nil && e.key == key {
			k.entries[h.ID] = e
		} else {
			stale[h.ID] = key
		}
	}
	return stale
}

// fillLots computes what is stale in some lots. Who else waits for one of them
// finds the work done.
func (s *Service) fillLots(ctx context.Context, lots []logbook.ID, k boardLook) error {
	if len(lots) == 0 {
		return nil
	}
	store.Pause(ctx) // who is waited for may need a connection
	defer s.filling.lock(lots...)()
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{LotIDs: lots})
	if err != nil {
		return err
	}
	var shown []*lotShown
	var ids []logbook.ID
	for _, h := range byLot(heads) {
		lot := s.shown.lot(h, k.ZoneDays)
		if len(s.stillTrue(k, lot)) > 0 {
			shown, ids = append(shown, lot), append(ids, lot.stale("")...)
		}
	}
	in := map[logbook.ID]*lotShown{}
	for _, lot := range shown {
		for _, h := range lot.heads {
			in[h.ID] = lot
		}
	}
	loaded := map[logbook.ID]*logbook.Season{}
	if err := s.load(ctx, ids, fewOnBoard, func(season *logbook.Season) error {
		loaded[season.ID] = season
		s.look(in[season.ID], season)
		return nil
	}); err != nil {
		return err
	}
	stale := map[logbook.ID]boardKey{}
	for _, lot := range shown {
		maps.Copy(stale, s.stillTrue(k, lot))
	}
	drafts, err := s.draftsOf(ctx, stale, loaded, in, k)
	if err != nil {
		return err
	}
	if len(drafts) == 0 {
		return nil
	}
	flags, err := s.db.LiveFlags(ctx, slices.Collect(maps.Keys(drafts)))
	if err != nil {
		return err
	}
	for id, draft := range drafts {
		e := draft.withFlags(flags[id])
		s.board.put(e)
		k.entries[id] = e
	}
	return nil
}

// fewOnBoard is up to how many seasons are loaded one by one for the board: a few
// have just been saved, and the store has them in memory; many have not.
const fewOnBoard = 8

// draftsOf returns the entries without Life that stale keys ask for: those that a
// save has left, and the others computed.
func (s *Service) draftsOf(ctx context.Context, stale map[logbook.ID]boardKey, loaded map[logbook.ID]*logbook.Season,
	in map[logbook.ID]*lotShown, k boardLook) (map[logbook.ID]*BoardEntry, error) {
	out := map[logbook.ID]*BoardEntry{}
	var missing []logbook.ID
	for id, key := range stale {
		if d := s.board.draft(id); d != nil && d.key == key {
			out[id] = d
		} else if loaded[id] == nil {
			missing = append(missing, id)
		}
	}
	compute := func(season *logbook.Season) (err error) {
		var known Evidence
		known.Siblings, _ = in[season.ID].others(season.ID)
		if known.Past, err = s.pastOf(ctx, &season.Lot, k.closed); err != nil {
			return err
		}
		out[season.ID] = newDraft(s.Compute(season, known, k.profile, k.Now), stale[season.ID])
		return nil
	}
	for id, season := range loaded {
		if _, wanted := stale[id]; wanted && out[id] == nil {
			if err := compute(season); err != nil {
				return nil, err
			}
		}
	}
	return out, s.load(ctx, missing, fewOnBoard, compute)
}

func newDraft(a Result, key boardKey) *BoardEntry {
	f := a.Forecast
	ruler := PlaceRuler(RulerSeason{FertilisedOn: a.Season.Lot.FertilisedOn, ReleaseFrom: a.Season.ReleaseFrom,
		ReleaseBy: a.Season.ReleaseBy}, &f)
	f.Days, f.Notes, f.Models, f.Observations, f.Questions = nil, nil, nil, nil, nil
	lot := a.Season.Lot
	lot.Revision = 0 // it changes with writes that the entry does not depend on
	return &BoardEntry{
		key: key, Site: a.Season.Site, Tank: a.Season.Tank, Lot: lot, SeasonID: a.Season.ID, Label: a.Season.Label,
		Today: a.Today, ReleaseFrom: a.Season.ReleaseFrom, ReleaseBy: a.Season.ReleaseBy,
		Alive: a.Season.TotalsOn(a.Today).Alive, Gone: a.Season.Gone(a.Today),
		Ruler: ruler, Forecast: f, Assessment: a.Assessment, entryAt: newestEntry(a.Season),
	}
}

// withFlags is the entry of a draft.
func (e *BoardEntry) withFlags(flags []store.Flag) *BoardEntry {
	out := *e
	lives := LivesOf(flags)
	out.Life = boardLifeOf(&out.Assessment, out.Today, out.entryAt, lives)
	out.Harm = lives.Harm(&out.Assessment)
	return &out
}

func (b *boardCache) put(e *BoardEntry) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.entries[e.SeasonID] = e
	if d := b.drafts[e.SeasonID]; d != nil && d.key.season <= e.key.season {
		delete(b.drafts, e.SeasonID)
	}
}

func (b *boardCache) draft(id logbook.ID) *BoardEntry {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.drafts[id]
}
