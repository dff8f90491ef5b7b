package entry

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// roundRoutes are the check of all tanks of a site on one page.
func (s *Service) roundRoutes(r chi.Router) {
	r.Get("/sites/{siteID}/round", s.Page(s.roundShow))
	r.Post("/sites/{siteID}/round", s.Page(s.roundSave))
	r.Get("/sites/{siteID}/paper", s.Page(s.paperShow))
}

// roundTank is one tank of a round.
type roundTank struct {
	season *logbook.Season
	stage  logbook.Stage  // believed in
	taken  *logbook.Check // today's check, when there is one
	form   *form.Form     // the fields of the row, under the names of the check form
	check  logbook.Check
	row    store.RoundRow // the check as it is to be stored
}

// roundTanks are the tanks of a site in which fish are expected, by name.
func (s *Service) roundTanks(r *http.Request, site logbook.Site, day civil.Date) ([]*roundTank, error) {
	v := req.Of(r)
	entries, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return nil, err
	}
	stages, ids := map[logbook.ID]logbook.Stage{}, []logbook.ID{}
	for _, e := range entries {
		if e.Site.ID == site.ID && e.Assessment.Active {
			stages[e.SeasonID] = e.Assessment.Stage.Stage
			ids = append(ids, e.SeasonID)
		}
	}
	var out []*roundTank
	err = s.DB.LoadSeasons(r.Context(), ids, func(season *logbook.Season) error {
		out = append(out, &roundTank{season: season, stage: stages[season.ID],
			taken: words.CheckAt(season, day, logbook.Morning), form: form.NewForm()})
		return nil
	})
	slices.SortFunc(out, func(a, b *roundTank) int {
		return logbook.NaturalCompare(a.season.Tank.Name,
			b.season.Tank.Name)
	})
	return out, err
}

func (s *Service) roundShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	today := s.Assess.Today(site, v.Now)
	// A sheet of paper is typed in by its days.
	if on, key := form.ParseDate(r.URL.Query().Get("on")); key == "" && !on.After(today) {
		today = on
	}
	tanks, err := s.roundTanks(r, site, today)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("on", today.String())
	f.Set("observer", s.Sessions.GetString(r.Context(), keyObserver))
	for _, t := range tanks {
		t.form.Set("key", string(logbook.NewID()))
	}
	return s.renderRound(w, r, site, tanks, f)
}

// roundSave stores a check for each tank that was filled in, in one transaction:
// when one row has a problem nothing is stored, and every row comes back as
// typed.
func (s *Service) roundSave(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	day := s.roundDay(r, site, f)
	tanks, err := s.roundTanks(r, site, day)
	if err != nil {
		return err
	}
	filled, err := s.readRound(r, tanks, f, day)
	if err != nil {
		return err
	}
	if len(f.Problems) == 0 {
		if err := s.storeRound(r, filled, f); err != nil {
			return err
		}
	}
	if len(f.Problems) > 0 {
		return s.renderRound(w, r, site, tanks, f)
	}
	s.Sessions.Put(r.Context(), keyObserver, f.Text("observer"))
	s.SetNotice(r, req.Of(r).P.T("round.saved", logbook.Args{"Count": len(filled)}))
	http.Redirect(w, r, ui.SitePath(site.ID, "/round"), http.StatusSeeOther)
	return nil
}

// roundDay is the day of a sent round: the one on which its form was opened.
func (s *Service) roundDay(r *http.Request, site logbook.Site, f *form.Form) civil.Date {
	today := s.Assess.Today(site, req.Of(r).Now)
	day := f.Date("on")
	if day.IsZero() {
		f.Values.Set("on", today.String())
		return today
	}
	if day.Before(today) && !slices.Contains(f.Values["confirm"], "on") {
		f.Problems = append(f.Problems, logbook.Problem{Field: "on", Key: "check_form.day_turned", Soft: true,
			Args: logbook.Args{"On": day, "Today": today}})
	}
	return day
}

// roundRowFields are the fields of a row that a person fills in.
var roundRowFields = []string{"temperature", "gear", "dead_eggs", "dead_alevins", "dead_fry", "stage", "note"}

// roundField names a field of a tank's row in the page's form.
func roundField(t *roundTank, field string) string { return string(t.season.ID) + "_" + field }

// readRound reads and judges the rows that are filled in, by the rules of the
// check form. Their problems stand in f under the names of the page's fields.
func (s *Service) readRound(r *http.Request, tanks []*roundTank, f *form.Form, day civil.Date) ([]*roundTank, error) {
	var filled []*roundTank
	known := map[string]bool{}
	for _, t := range tanks {
		known[string(t.season.ID)] = true
		if t.read(f, day) {
			filled = append(filled, t)
		}
	}
	// A row whose tank left the round meanwhile is never dropped in silence.
	for name, values := range f.Values {
		id, field, _ := strings.Cut(name, "_")
		if slices.Contains(roundRowFields, field) && !known[id] && strings.TrimSpace(strings.Join(values, "")) != "" {
			return nil, logbook.Errorf(logbook.Conflict, "round.gone", nil)
		}
	}
	if len(filled) == 0 && len(tanks) > 0 {
		f.Fail(roundField(tanks[0], "temperature"), "round.empty", nil)
	}
	for _, t := range filled {
		t.check = readCheck(t.form, t.season)
		row, err := s.Entries.RoundRow(r.Context(), req.Sent(r, t.season, t.form), &t.check)
		keepConfirmed(t.form, t.check.Confirmed)
		if t.form.Refused(err); err != nil && len(t.form.Problems) == 0 {
			return nil, err
		}
		t.row = row
		t.problemsTo(f)
	}
	return filled, nil
}

// read takes the fields of the row out of the page's form; it reports whether
// anything was filled in.
func (t *roundTank) read(f *form.Form, day civil.Date) (filled bool) {
	for _, name := range append([]string{"key", "confirm", "was_confirmed"}, roundRowFields...) {
		if values := f.Values[roundField(t, name)]; len(values) > 0 {
			t.form.Values[name] = values
		}
	}
	for _, name := range roundRowFields {
		filled = filled || t.form.Text(name) != ""
	}
	t.form.Set("on", day.String())
	t.form.Set("slot", string(logbook.Morning))
	t.form.Set("observer", f.Text("observer"))
	t.readGear()
	return filled
}

// roundGear is the equipment that a tank has, by the names of its fields.
func roundGear(t logbook.Tank) []string {
	var out []string
	for _, g := range []struct {
		name string
		has  bool
	}{{"chiller", t.HasChiller}, {"filter", t.HasFilter}, {"air_pump", t.HasAirPump}} {
		if g.has {
			out = append(out, g.name)
		}
	}
	return out
}

// readGear spreads the one answer about the equipment over its fields: "running",
// "not_checked", or what has stopped, joined by plus signs.
func (t *roundTank) readGear() {
	gear, fitted := t.form.Text("gear"), roundGear(t.season.Tank)
	if gear == "" {
		return
	}
	stopped := strings.Split(gear, "+")
	if gear == string(logbook.Running) || gear == string(logbook.NotChecked) {
		stopped = nil
	}
	for _, name := range stopped {
		if !slices.Contains(fitted, name) {
			t.form.Fail("gear", "choice.unknown", nil)
			return
		}
	}
	for _, name := range fitted {
		state := logbook.Running
		switch {
		case gear == string(logbook.NotChecked):
			state = logbook.NotChecked
		case slices.Contains(stopped, name):
			state = logbook.Stopped
		}
		t.form.Set(name, string(state))
	}
}

// problemsTo gives the problems of the row the names of the page's fields. What
// is wrong with the day or the group is wrong with all rows, and said once.
func (t *roundTank) problemsTo(f *form.Form) {
	for _, p := range t.form.Problems {
		switch p.Field {
		case "on", "slot":
			p.Field = "on"
		case "observer":
		case "chiller", "filter", "air_pump":
			p.Field = roundField(t, "gear")
		default:
			p.Field = roundField(t, p.Field)
		}
		if !f.Has(p.Field) {
			f.Problems = append(f.Problems, p)
		}
	}
}

// storeRound stores the rows. A tank whose check came in meanwhile is a problem
// of its row. What one row shows reaches the forecast of the other tanks of its
// lot with the next look at the board, as with checks that come one by one.
func (s *Service) storeRound(r *http.Request, filled []*roundTank, f *form.Form) error {
	v := req.Of(r)
	rows := make([]store.RoundRow, 0, len(filled))
	for _, t := range filled {
		rows = append(rows, t.row)
	}
	_, err := s.DB.SaveRound(r.Context(), v.Actor, rows, v.Now)
	var row *store.RoundError
	if have := entries.Current[logbook.Check](err); have != nil && errors.As(err, &row) {
		t := filled[row.Row]
		t.taken = have
		f.Fail(roundField(t, "temperature"), "round.taken", logbook.Args{"At": words.EnteredAt(v.P, t.season, have),
			"By": words.EnteredBy(v.P, have)})
		return nil
	}
	return err
}
