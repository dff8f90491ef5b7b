package school

import (
	"cmp"
	"errors"
	"net/http"
	"slices"

	"reddside/internal/assess"
	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// newYearShow is the turn of the year: seasons to end, tanks that wait for eggs,
// and the years that are kept.
func (s *Service) newYearShow(w http.ResponseWriter, r *http.Request) error {
	return s.newYearForm(w, r, form.NewForm())
}

func (s *Service) newYearForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	v := req.Of(r)
	open, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	heads, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{})
	if err != nil {
		return err
	}
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	tanks, err := s.DB.Tanks(r.Context(), "")
	if err != nil {
		return err
	}
	ready, err := s.DB.ReadyTicks(r.Context(), "")
	if err != nil {
		return err
	}
	m := NewYear{Page: s.NewPage(r, "newyear.title", "sites"), Waiting: waitingTanks(v.P, sites, tanks, open, ready),
		Years: pastYears(heads, sites, tanks), ClosedOn: f.Raw("closed_on")}
	m.Styles = []string{"board.css"}
	if m.ClosedOn == "" && len(f.Values) == 0 {
		m.ClosedOn = civil.In(v.Now, logbook.Site{Zone: s.ReaderZone(v, open)}.Location()).String()
	}
	chosen := map[string]bool{}
	for _, id := range f.Values["season"] {
		chosen[id] = true
	}
	for _, e := range open {
		row := NewYearSeason{ID: string(e.SeasonID), Tank: e.Tank.Name, Site: e.Site.Name, Label: e.Label,
			Alive: v.P.T("newyear.alive", logbook.Args{"Count": e.Alive}), Empty: e.Alive == 0}
		// A tank that the log says is empty is proposed.
		row.Chosen = chosen[row.ID] || len(f.Values) == 0 && row.Empty
		m.Open = append(m.Open, row)
	}
	slices.SortStableFunc(m.Open, func(a, b NewYearSeason) int {
		return cmp.Or(logbook.NaturalCompare(a.Site, b.Site), logbook.NaturalCompare(a.Tank, b.Tank))
	})
	status := http.StatusOK
	if len(f.Problems) > 0 {
		m.Error, status = true, http.StatusUnprocessableEntity
		m.Problems = form.ShowProblems(v.P, f.Problems, func(field string) string { return v.P.T("newyear." + field) })
	}
	return s.Render(w, r, status, NewYearPage(m))
}

// readyText says how much of a tank is ready for eggs.
func readyText(p *i18n.Printer, ticks map[string]store.Ready) string {
	return p.T("before.count", logbook.Args{"Done": len(ticks), "Of": len(care.BeforeEggs(civil.Date{}))})
}

// waitingTanks lists the tanks without an open season, by school.
func waitingTanks(p *i18n.Printer, sites []logbook.Site, tanks []logbook.Tank, open []*assess.BoardEntry,
	ready map[logbook.ID]map[string]store.Ready) []NewYearSite {
	busy := map[logbook.ID]bool{}
	for _, e := range open {
		busy[e.Tank.ID] = true
	}
	var out []NewYearSite
	for _, site := range sites {
		row := NewYearSite{ID: string(site.ID), Name: site.Name}
		for _, t := range tanks {
			if t.SiteID == site.ID && !busy[t.ID] {
				row.Tanks = append(row.Tanks, NewYearTank{ID: string(t.ID), Name: t.Name,
					Ready: readyText(p, ready[t.ID])})
			}
		}
		if len(row.Tanks) > 0 {
			out = append(out, row)
		}
	}
	slices.SortStableFunc(out, func(a, b NewYearSite) int { return logbook.NaturalCompare(a.Name, b.Name) })
	return out
}

// pastYears lists the seasons that have ended by their label, the newest year
// first.
func pastYears(heads []store.SeasonHead, sites []logbook.Site, tanks []logbook.Tank) []PastYear {
	name := map[logbook.ID]string{}
	for _, x := range sites {
		name[x.ID] = x.Name
	}
	for _, x := range tanks {
		name[x.ID] = x.Name
	}
	at := map[string]int{}
	var out []PastYear
	for _, h := range heads {
		if !h.Closed {
			continue
		}
		i, known := at[h.Label]
		if !known {
			i = len(out)
			at[h.Label], out = i, append(out, PastYear{Label: h.Label})
		}
		out[i].Seasons = append(out[i].Seasons, EndedSeason{ID: string(h.ID), Tank: name[h.TankID],
			Site: name[h.SiteID]})
	}
	slices.SortStableFunc(out, func(a, b PastYear) int { return cmp.Compare(b.Label, a.Label) })
	return out
}

// newYearEnd closes the chosen seasons, all or none.
func (s *Service) newYearEnd(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	on := f.Date("closed_on")
	if on.IsZero() && !f.Has("closed_on") {
		f.Fail("closed_on", "date.empty", nil)
	}
	var ids []logbook.ID
	for _, id := range f.Values["season"] {
		ids = append(ids, logbook.ID(id))
	}
	if len(ids) == 0 {
		f.Fail("season", "newyear.none_chosen", nil)
	}
	if len(f.Problems) > 0 {
		return s.newYearForm(w, r, f)
	}
	err = s.DB.EndSeasons(r.Context(), v.Actor, ids, on, v.Now, func(season *logbook.Season) error {
		return closingRefused(season, s.Assess.Today(season.Site, v.Now))
	})
	var refused *logbook.Error
	switch {
	case errors.As(err, &refused) && len(refused.Problems) > 0:
		f.Add(refused.Problems)
		return s.newYearForm(w, r, f)
	case err != nil:
		return err
	}
	s.SetNotice(r, v.P.T("newyear.ended", logbook.Args{"Count": len(ids)}))
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
