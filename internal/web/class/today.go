package class

import (
	"context"
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// todayRoutes is the page a class starts from.
func (s *Service) todayRoutes(r chi.Router) {
	r.Get("/today", s.Page(s.todayShow))
}

// todayShow shows the tanks as large cards: what lives there, and whether
// today's check is done.
func (s *Service) todayShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	all, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	entries := slices.Clone(all)
	slices.SortFunc(entries, (*assess.BoardEntry).CompareName)
	m := TodayPage{Page: s.NewPage(r, "today.title", "today"), Keeper: v.Actor.Role != logbook.Class}
	m.Styles = []string{"pieces.css", "check.css", "tablet.css"}
	for i, e := range entries {
		if i == 0 {
			m.Day = v.P.DateWeekday(e.Today)
		}
		card, err := s.todayCard(r.Context(), v, e)
		if err != nil {
			return err
		}
		m.Alarm = m.Alarm || len(card.Act) > 0
		switch due := e.Assessment.DueToday; {
		case due && card.DoneHref == "":
			m.Left++
		case due || card.DoneHref != "":
			m.Made++
		}
		m.Cards = append(m.Cards, card)
	}
	if v.Actor.Role != logbook.Coordinator && len(entries) > 0 {
		m.Site, m.WallHref = entries[0].Site.Name, ui.SitePath(entries[0].Site.ID, "/wall")
		turn, err := s.DutyTurn(r.Context(), entries[0].Site.ID, entries[0].Today)
		if err != nil {
			return err
		}
		m.Turn = words.DutySentence(v.P, turn)
	}
	return s.Render(w, r, http.StatusOK, TodayPageView(m))
}

// todayCard is one tank.
func (s *Service) todayCard(ctx context.Context, v *req.Info, e *assess.BoardEntry) (TodayCard, error) {
	path := ui.SeasonPath(e.SeasonID)
	card := TodayCard{Tank: e.Tank.Name, Species: v.P.T(e.Lot.Species.MessageKey()), Stage: e.Assessment.Stage.Stage,
		StageName: words.StageWords(v.P, e.Assessment.Stage),
		ClassHref: path + classHubPath, CheckHref: path + "/checks/new"}
	for _, f := range e.Assessment.Flags {
		if f.Kind == rules.Act {
			card.Act = append(card.Act, f)
		}
	}
	if v.Actor.Role == logbook.Coordinator {
		card.Site = e.Site.Name
	}
	if !e.Assessment.CheckedToday {
		return card, nil
	}
	season, err := s.DB.LoadSeason(ctx, e.SeasonID)
	if err != nil {
		return card, err
	}
	for _, slot := range logbook.Slots() {
		if c := words.CheckAt(season, e.Today, slot); c != nil {
			card.DoneHref = ui.CheckPath(c.ID)
			card.Done = v.P.T("today.done", logbook.Args{"At": words.EnteredAt(v.P, season, c),
				"By": words.EnteredBy(v.P, c)})
			break
		}
	}
	return card, nil
}
