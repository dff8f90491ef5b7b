package limits

import (
	"net/http"
	"slices"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// waterSetStock is the choice that goes back to the stock limits.
const waterSetStock = "stock"

// waterSetShow shows the water limits in use, what each publisher says, and the
// form to choose one for the programme.
func (s *Service) waterSetShow(w http.ResponseWriter, r *http.Request) error {
	return s.renderWaterSets(w, r, http.StatusOK, form.NewForm())
}

func (s *Service) renderWaterSets(w http.ResponseWriter, r *http.Request, status int, f *form.Form) error {
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	sets, err := usableSets(profile)
	if err != nil {
		return err
	}
	page := s.NewPage(r, "waterset.title", "rules")
	page.Styles = []string{"care.css"}
	p := page.P
	m := ui.CarePage{Page: page, Links: []ui.CareLink{{Href: "/rules/thresholds", Label: p.T("threshold.title")}}}
	m.Problems = form.ShowProblems(p, f.Problems, func(field string) string { return p.T("waterset.field." + field) })
	m.Error = len(m.Problems) > 0
	b := form.FormItems(s.Cat, p, "waterset.field")
	options := []ui.Option{{Value: waterSetStock, Label: p.T("waterset.stock")}}
	for _, set := range sets {
		options = append(options, ui.Option{Value: set.Name, Label: set.Name})
	}
	b.Pick("set", f.Raw("set"), options)
	b.Text("reason", f.Raw("reason"))
	m.Parts = []ui.CarePart{
		{ID: "now", Title: p.T("waterset.now"), Lines: []string{p.T("waterset.now_text")},
			Table: waterSetNow(p, profile)},
		{ID: "sets", Title: p.T("waterset.sets"), Lines: []string{p.T("waterset.sets_text")},
			Table: waterSetTable(p, sets, profile)},
		{ID: "choose", Title: p.T("waterset.choose"), Lines: []string{p.T("waterset.choose_text")},
			Form: &ui.CareForm{Method: "post", Action: "/rules/water-limits", Submit: p.T("waterset.submit"),
				Items: b.List, Problems: m.Problems},
			Sources: []string{p.T("waterset.permit")}},
	}
	return s.Render(w, r, status, ui.CarePageView(m))
}

// usableSets are the sets that say something about a limit of the rules.
func usableSets(profile *rules.Profile) ([]water.LimitSet, error) {
	all, err := water.LimitSets()
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(set water.LimitSet) bool {
		return len(rules.WaterSetChanges(set,
			profile)) == 0
	}), nil
}

// waterSetNow lists the water limits in use, each with its set and source.
func waterSetNow(p *i18n.Printer, profile *rules.Profile) *ui.DataTable {
	t := &ui.DataTable{Caption: p.T("waterset.now")}
	for _, c := range []string{"limit", "value", "source", "reason"} {
		t.Columns = append(t.Columns, ui.DataColumn{Label: p.T("waterset.col." + c)})
	}
	for _, l := range rules.WaterSetLimits() {
		for _, row := range profile.Rows(l) {
			line := thresholdLine(p, row)
			t.Rows = append(t.Rows, []string{line.Name + " – " + line.Scope, thresholdValue(p, row.Unit, row.InUse()),
				waterSource(p, row), line.Reason})
		}
	}
	return t
}

// waterSource is the source of the value in use.
func waterSource(p *i18n.Printer, row rules.Row) string {
	if row.Local != nil && row.Local.Source == "" {
		return p.T(rules.LocalChoice.MessageKey())
	}
	return sourceText(p, row)
}

// waterSetTable lists what each set would change.
func waterSetTable(p *i18n.Printer, sets []water.LimitSet, profile *rules.Profile) *ui.DataTable {
	t := &ui.DataTable{Caption: p.T("waterset.sets")}
	for _, c := range []string{"set", "limit", "value", "was", "source"} {
		t.Columns = append(t.Columns, ui.DataColumn{Label: p.T("waterset.col." + c)})
	}
	for _, set := range sets {
		for _, c := range rules.WaterSetChanges(set, profile) {
			unit := thresholdUnit(profile, c.Limit)
			source := c.Source
			if source == "" {
				source = p.T("waterset.moved")
			}
			t.Rows = append(t.Rows, []string{set.Name, p.T(c.Limit.MessageKey()) + " – " + scopeText(p, "", c.Stage),
				thresholdValue(p, unit, c.Value.V), thresholdValue(p, unit, c.Was), source})
		}
	}
	return t
}

// waterSetSave stores the limits of the chosen set as those of the programme,
// with a reason: they are thresholds like any other, with the set as their source.
func (s *Service) waterSetSave(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	changes, err := chosenSet(f, profile)
	if err != nil {
		return err
	}
	reason := f.Text("reason")
	switch {
	case reason == "":
		f.Fail("reason", "error.reason", nil)
	case len([]rune(reason)) > logbook.MaxReason:
		f.Fail("reason", "entry.too_long", logbook.Args{"Max": logbook.MaxReason})
	}
	if len(f.Problems) > 0 {
		return s.renderWaterSets(w, r, http.StatusUnprocessableEntity, f)
	}
	own, check, err := s.Assess.OwnThresholds(r.Context())
	if err != nil {
		return err
	}
	var list []store.Threshold
	for _, c := range changes {
		t := store.Threshold{Key: c.Limit.String(), Stage: c.Stage, Value: c.Value, Source: c.Source}
		for _, have := range own {
			if have.Key == t.Key && have.Stage == t.Stage && have.Species == "" {
				t.Revision = have.Revision
			}
		}
		if t.Value.OK || t.Revision > 0 { // what was never changed is stock already
			list = append(list, t)
		}
	}
	if _, err := s.DB.SetThresholds(r.Context(), v.Actor, list, reason, v.Now, check); err != nil {
		if thresholdRefused(f, v.P, "", err) {
			f.Problems[len(f.Problems)-1].Field = "set"
			return s.renderWaterSets(w, r, http.StatusUnprocessableEntity, f)
		}
		return err
	}
	s.SetNotice(r, v.P.T("waterset.saved", logbook.Args{"Count": len(list)}))
	http.Redirect(w, r, "/rules/water-limits", http.StatusSeeOther)
	return nil
}

// chosenSet reads what the form chooses. Limits of a set chosen before that the
// new one says nothing of go back to stock.
func chosenSet(f *form.Form, profile *rules.Profile) ([]rules.SetChange, error) {
	sets, err := usableSets(profile)
	if err != nil {
		return nil, err
	}
	var back []rules.SetChange
	for _, l := range rules.WaterSetLimits() {
		for _, row := range profile.Rows(l) {
			if row.Species == "" && row.Local != nil && (f.Text("set") == waterSetStock || row.Local.Source != "") {
				back = append(back, rules.SetChange{Limit: l, Stage: row.Stage, Value: units.None[float64]()})
			}
		}
	}
	if f.Text("set") == waterSetStock {
		return back, nil
	}
	i := slices.IndexFunc(sets, func(set water.LimitSet) bool { return set.Name == f.Text("set") })
	if i < 0 {
		f.Fail("set", "choice.empty", nil)
		return nil, nil
	}
	// What the new set does not say is judged from the stock values.
	var kept []rules.Override
	for _, o := range profile.Overrides() {
		if !slices.ContainsFunc(back, func(c rules.SetChange) bool {
			return c.Limit == o.Limit && c.Stage == o.Stage &&
				o.Species == ""
		}) {
			kept = append(kept, o)
		}
	}
	base, err := rules.NewProfile(profile.Revision, kept)
	if err != nil {
		return nil, err
	}
	changes := rules.WaterSetChanges(sets[i], base)
	for _, b := range back {
		if !slices.ContainsFunc(changes, func(c rules.SetChange) bool {
			return c.Limit == b.Limit &&
				c.Stage == b.Stage
		}) {
			changes = append(changes, b)
		}
	}
	return changes, nil
}
