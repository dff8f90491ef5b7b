package web

import (
	"cmp"
	"errors"
	"net/http"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// newYearShow is the turn of the year: seasons to end, tanks that wait for eggs,
// and the years that are kept.
func (s *Server) newYearShow(w http.ResponseWriter, r *http.Request) error {
	return s.newYearForm(w, r, newForm())
}

func (s *Server) newYearForm(w http.ResponseWriter, r *http.Request, f *form) error {
	v := visitOf(r)
	open, err := s.boardEntries(r.Context(), v.actor, v.now)
	if err != nil {
		return err
	}
	heads, err := s.db.SeasonHeads(r.Context(), store.SeasonFilter{})
	if err != nil {
		return err
	}
	sites, err := s.db.Sites(r.Context())
	if err != nil {
		return err
	}
	tanks, err := s.db.Tanks(r.Context(), "")
	if err != nil {
		return err
	}
	m := view.NewYear{Page: s.newPage(r, "newyear.title", "sites"), Waiting: waitingTanks(sites, tanks, open),
		Years: pastYears(heads, sites, tanks), ClosedOn: f.raw("closed_on")}
	m.Styles = []string{"board.css"}
	if m.ClosedOn == "" && len(f.values) == 0 {
		m.ClosedOn = civil.In(v.now, logbook.Site{Zone: s.readerZone(v, open)}.Location()).String()
	}
	chosen := map[string]bool{}
	for _, id := range f.values["season"] {
		chosen[id] = true
	}
	for _, e := range open {
		row := view.NewYearSeason{ID: string(e.SeasonID), Tank: e.Tank.Name, Site: e.Site.Name, Label: e.Label,
			Alive: v.p.T("newyear.alive", logbook.Args{"Count": e.Alive}), Empty: e.Alive == 0}
		// A tank that the log says is empty is proposed.
		row.Chosen = chosen[row.ID] || len(f.values) == 0 && row.Empty
		m.Open = append(m.Open, row)
	}
	slices.SortStableFunc(m.Open, func(a, b view.NewYearSeason) int {
		return cmp.Or(cmp.Compare(a.Site, b.Site), cmp.Compare(a.Tank, b.Tank))
	})
	status := http.StatusOK
	if len(f.problems) > 0 {
		m.Error, status = true, http.StatusUnprocessableEntity
		m.Problems = showProblems(v.p, f.problems, func(field string) string { return v.p.T("newyear." + field) })
	}
	return s.render(w, r, status, view.NewYearPage(m))
}

// waitingTanks lists the tanks without an open season, by school.
func waitingTanks(sites []logbook.Site, tanks []logbook.Tank, open []*boardEntry) []view.NewYearSite {
	busy := map[logbook.ID]bool{}
	for _, e := range open {
		busy[e.Tank.ID] = true
	}
	var out []view.NewYearSite
	for _, site := range sites {
		row := view.NewYearSite{ID: string(site.ID), Name: site.Name}
		for _, t := range tanks {
			if t.SiteID == site.ID && !busy[t.ID] {
				row.Tanks = append(row.Tanks, view.Option{Value: string(t.ID), Label: t.Name})
			}
		}
		if len(row.Tanks) > 0 {
			out = append(out, row)
		}
	}
	slices.SortStableFunc(out, func(a, b view.NewYearSite) int { return cmp.Compare(a.Name, b.Name) })
	return out
}

// pastYears lists the seasons that have ended by their label, the newest year
// first.
func pastYears(heads []store.SeasonHead, sites []logbook.Site, tanks []logbook.Tank) []view.PastYear {
	name := map[logbook.ID]string{}
	for _, x := range sites {
		name[x.ID] = x.Name
	}
	for _, x := range tanks {
		name[x.ID] = x.Name
	}
	at := map[string]int{}
	var out []view.PastYear
	for _, h := range heads {
		if !h.Closed {
			continue
		}
		i, known := at[h.Label]
		if !known {
			i = len(out)
			at[h.Label], out = i, append(out, view.PastYear{Label: h.Label})
		}
		out[i].Seasons = append(out[i].Seasons, view.EndedSeason{ID: string(h.ID), Tank: name[h.TankID], Site: name[h.SiteID]})
	}
	slices.SortStableFunc(out, func(a, b view.PastYear) int { return cmp.Compare(b.Label, a.Label) })
	return out
}

// newYearEnd closes the chosen seasons, all or none.
func (s *Server) newYearEnd(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	on := f.date("closed_on")
	if on.IsZero() && !f.has("closed_on") {
		f.fail("closed_on", "date.empty", nil)
	}
	var ids []logbook.ID
	for _, id := range f.values["season"] {
		ids = append(ids, logbook.ID(id))
	}
	if len(ids) == 0 {
		f.fail("season", "newyear.none_chosen", nil)
	}
	if len(f.problems) > 0 {
		return s.newYearForm(w, r, f)
	}
	err = s.db.EndSeasons(r.Context(), v.actor, ids, on, v.now, func(season *logbook.Season) error {
		return closingRefused(season, s.today(season.Site, v.now))
	})
	var refused *logbook.Error
	switch {
	case errors.As(err, &refused) && len(refused.Problems) > 0:
		f.add(refused.Problems)
		return s.newYearForm(w, r, f)
	case err != nil:
		return err
	}
	s.setNotice(r, v.p.T("newyear.ended", logbook.Args{"Count": len(ids)}))
	http.Redirect(w, r, "/programme/new-year", http.StatusSeeOther)
	return nil
}

// closingRefused says which tank a closing day does not fit.
func closingRefused(season *logbook.Season, today civil.Date) error {
	problems := season.ValidateClosing(today)
	for i := range problems {
		if problems[i].Key == "season.closed_before_entry" {
			problems[i].Key = "newyear.before_entry"
			problems[i].Args["Tank"], problems[i].Args["Site"] = season.Tank.Name, season.Site.Name
		}
	}
	return logbook.Refuse(problems)
}
