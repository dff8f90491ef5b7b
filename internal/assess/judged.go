package assess

import (
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// judged is what a write has worked out of its season: once it is committed, the
// board and the other tanks of the lot need not work it out again.
type judged struct {
	season *logbook.Season // as the write saw it, the same one that the store tells of
	draft  *BoardEntry
	shown  shownBy
}

// judge keeps a result until its write is committed. One that is undone is never
// told of, and goes when the season is written to again.
func (b *boardCache) judge(a Result, known Evidence, profile *rules.Profile) {
	s := a.Season
	setup := s.Site.Revision + s.Tank.Revision
	key := boardKey{season: s.Revision, profile: profile.Revision, setup: setup, lot: known.mark, past: known.pastMark, today: a.Today}
	j := judged{season: s, shown: newShown(shownKey{season: s.Revision, setup: setup, lot: s.Lot.Edits, day: a.Today}, a.Forecast.Observations)}
	if s.ClosedOn.IsZero() {
		j.draft = newDraft(a, key)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.judging[s.ID] = j
}

// committed takes over what was judged of a season.
func (s *Service) committed(season *logbook.Season) {
	b := s.board
	b.mu.Lock()
	j, ok := b.judging[season.ID]
	ok = ok && j.season == season
	if ok {
		delete(b.judging, season.ID)
		if j.draft != nil {
			b.drafts[season.ID] = j.draft
		}
	}
	b.mu.Unlock()
	if ok {
		s.shown.put(season.ID, j.shown)
	}
}
