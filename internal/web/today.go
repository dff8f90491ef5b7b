package web

import (
	"cmp"
	"context"
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/web/view"
)

// todayRoutes is the page a class starts from.
func (s *Server) todayRoutes(r chi.Router) {
	r.Get("/today", s.page(s.todayShow))
}

// todayShow shows the tanks as large cards: what lives there, and whether
// today's check is done.
func (s *Server) todayShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	all, err := s.boardEntries(r.Context(), v.actor, v.now)
	if err != nil {
		return err
	}
	entries := slices.Clone(all)
	slices.SortStableFunc(entries, func(a, b *boardEntry) int {
		return cmp.Or(cmp.Compare(a.Site.Name, b.Site.Name), cmp.Compare(a.Tank.Name, b.Tank.Name), cmp.Compare(a.SeasonID, b.SeasonID))
	})
	m := view.TodayPage{Page: s.newPage(r, "today.title", "today"), Keeper: v.actor.Role != logbook.Class}
	m.Styles = []string{"pieces.css", "check.css", "tablet.css"}
	for i, e := range entries {
		if i == 0 {
			m.Day = v.p.DateWeekday(e.Today)
		}
		card, err := s.todayCard(r.Context(), v, e)
		if err != nil {
			return err
		}
		if card.DoneHref == "" {
			m.Left++
		}
		m.Cards = append(m.Cards, card)
	}
	if v.actor.Role != logbook.Coordinator && len(entries) > 0 {
		m.Site, m.WallHref = entries[0].Site.Name, "/sites/"+string(entries[0].Site.ID)+"/wall"
		turn, err := s.dutyTurn(r.Context(), entries[0].Site.ID, entries[0].Today)
		if err != nil {
			return err
		}
		m.Turn = dutySentence(v.p, turn)
	}
	return s.render(w, r, http.StatusOK, view.TodayPageView(m))
}

// todayCard is one tank.
func (s *Server) todayCard(ctx context.Context, v *visit, e *boardEntry) (view.TodayCard, error) {
	path := "/seasons/" + string(e.SeasonID)
	card := view.TodayCard{Tank: e.Tank.Name, Species: v.p.T(e.Lot.Species.MessageKey()), Stage: e.Assessment.Stage.Stage, StageName: stageWords(v.p, e.Assessment.Stage),
		ClassHref: path + classHubPath, CheckHref: path + "/checks/new"}
	if v.actor.Role == logbook.Coordinator {
		card.Site = e.Site.Name
	}
	if !e.Assessment.CheckedToday {
		return card, nil
	}
	season, err := s.db.LoadSeason(ctx, e.SeasonID)
	if err != nil {
		return card, err
	}
	for _, slot := range logbook.Slots() {
		if c := checkAt(season, e.Today, slot); c != nil {
			card.DoneHref = "/checks/" + string(c.ID)
			card.Done = v.p.T("today.done", logbook.Args{"At": enteredAt(v.p, season, c), "By": enteredBy(v.p, c)})
			break
		}
	}
	return card, nil
}
