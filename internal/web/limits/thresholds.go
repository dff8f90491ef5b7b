package limits

import (
	"context"
	"net/http"
	"net/url"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// thresholdRoutes are the pages on which a coordinator changes limits.
func (s *Service) thresholdRoutes(r chi.Router) {
	r.Get("/rules/thresholds", s.Page(s.thresholdList))
	r.Get("/rules/thresholds/{key}", s.Page(s.thresholdShow))
	r.Post("/rules/thresholds/{key}", s.Page(s.thresholdSave))
	r.Get("/rules/water-limits", s.Page(s.waterSetShow))
	r.Post("/rules/water-limits", s.Page(s.waterSetSave))
	r.Get("/rules/recalibration", s.Page(s.recalibrationShow))
	r.Post("/rules/recalibration", s.Page(s.recalibrationAdopt))
}

// thresholdList shows every limit, stock and local side by side.
func (s *Service) thresholdList(w http.ResponseWriter, r *http.Request) error {
	p := req.Of(r).P
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	m := Thresholds{Page: s.NewPage(r, "threshold.title", "rules")}
	m.Styles = []string{"pieces.css", "tank.css", "flags.css"}
	m.finder, m.Changed = newFinder(r, p, "/rules/thresholds"), changedLines(p, profile)
	done := map[rules.Limit]bool{}
	for _, rule := range rules.All() {
		if n := len(m.Families); n == 0 || m.Families[n-1].ID != string(rule.Family) {
			m.Families = append(m.Families, ThresholdFamily{ID: string(rule.Family),
				Name: p.T(rule.Family.MessageKey())})
		}
		f := &m.Families[len(m.Families)-1]
		for _, ref := range rule.Thresholds {
			if done[ref.Limit] {
				continue
			}
			done[ref.Limit] = true
			if !m.shows(rule.Family, p.T(ref.Limit.MessageKey()), p.T(rule.Name.Key, rule.Name.Args)) {
				continue
			}
			for _, row := range profile.Rows(ref.Limit) {
				f.Rows = append(f.Rows, thresholdLine(p, row))
			}
		}
	}
	return s.Render(w, r, http.StatusOK, ThresholdsPage(m))
}

func thresholdLine(p *i18n.Printer, row rules.Row) ThresholdLine {
	t := ThresholdLine{Name: p.T(row.Limit.MessageKey()), Scope: scopeText(p, row.Species, row.Stage),
		Source: sourceText(p, row),
		Href:   thresholdPath(row.Limit, row.Species, row.Stage)}
	if t.Source == "" {
		t.Source = p.T(row.Known.MessageKey())
	}
	if row.HasStock {
		t.Stock = thresholdValue(p, row.Unit, row.Value)
	}
	if row.Local != nil {
		t.Local, t.Reason = thresholdValue(p, row.Unit, row.Local.Value), row.Local.Reason
	}
	return t
}

func scopeText(p *i18n.Printer, species logbook.Species, stage logbook.Stage) string {
	var scope []string
	if species != "" {
		scope = append(scope, p.T(species.MessageKey()))
	}
	if stage != "" {
		scope = append(scope, p.T(stage.MessageKey()))
	}
	if len(scope) == 0 {
		return p.T("threshold.everywhere")
	}
	return strings.Join(scope, ", ")
}

func thresholdPath(l rules.Limit, species logbook.Species, stage logbook.Stage) string {
	q := url.Values{}
	if species != "" {
		q.Set("species", string(species))
	}
	if stage != "" {
		q.Set("stage", string(stage))
	}
	path := "/rules/thresholds/" + l.String()
	if len(q) > 0 {
		path += "?" + q.Encode()
	}
	return path
}

// chosen is the limit that a page is about, in its scope.
type chosen struct {
	limit   rules.Limit
	species logbook.Species
	stage   logbook.Stage
	row     rules.Row       // the row in force for the scope
	exact   bool            // the row is of the scope itself, not of a wider one
	stored  store.Threshold // revision 0 when it was never changed
	profile *rules.Profile
}

func (s *Service) chosenOf(r *http.Request) (c chosen, err error) {
	q := r.URL.Query()
	limit, ok := rules.LimitNamed(chi.URLParam(r, "key"))
	c = chosen{limit: limit, species: logbook.Species(q.Get("species")), stage: logbook.Stage(q.Get("stage"))}
	if !ok || c.species != "" && !c.species.Valid() || c.stage != "" && c.stage.Order() == 0 {
		return c, logbook.Missing("threshold")
	}
	if c.profile, err = s.Assess.Profile(r.Context()); err != nil {
		return c, err
	}
	best := -1
	for _, row := range c.profile.Rows(limit) {
		if row.Species != "" && row.Species != c.species || row.Stage != "" && row.Stage != c.stage {
			continue
		}
		n := 0
		if row.Stage != "" {
			n++
		}
		if row.Species != "" {
			n += 2
		}
		if n > best {
			best, c.row = n, row
			c.exact = row.Species == c.species && row.Stage == c.stage
		}
	}
	own, _, err := s.DB.Thresholds(r.Context())
	if err != nil {
		return c, err
	}
	for _, t := range own {
		if t.Key == limit.String() && t.Species == c.species && t.Stage == c.stage {
			c.stored = t
		}
	}
	if c.row.Unit == "" { // only more precise rows: take their unit
		c.row.Unit = thresholdUnit(c.profile, limit)
	}
	return c, nil
}

// morePrecise lists the scopes inside the chosen one that have a value of their
// own, which goes before.
func (c *chosen) morePrecise(p *i18n.Printer) (out []string) {
	for _, row := range c.profile.Rows(c.limit) {
		inside := (c.species == "" || row.Species == c.species || row.Species == "") &&
			(c.stage == "" || row.Stage == c.stage || row.Stage == "")
		wins := row.Species != "" && c.species == "" || row.Stage != "" && c.stage == "" && row.Species == c.species
		if inside && wins {
			out = append(out, scopeText(p, row.Species, row.Stage)+" "+thresholdValue(p, row.Unit, row.InUse()))
		}
	}
	return out
}

// with is the profile with another value for the chosen limit; none takes the
// local value away.
func (c *chosen) with(v units.Optional[float64], reason string) (*rules.Profile, error) {
	var list []rules.Override
	for _, o := range c.profile.Overrides() {
		if o.Limit != c.limit || o.Species != c.species || o.Stage != c.stage {
			list = append(list, o)
		}
	}
	if v.OK {
		list = append(list, rules.Override{Limit: c.limit, Species: c.species, Stage: c.stage, Value: v.V,
			Reason: reason})
	}
	return rules.NewProfile(c.profile.Revision+1, list)
}

func (s *Service) thresholdShow(w http.ResponseWriter, r *http.Request) error {
	c, err := s.chosenOf(r)
	if err != nil {
		return err
	}
	m, err := s.thresholdModel(r, &c)
	if err != nil {
		return err
	}
	return s.Render(w, r, http.StatusOK, ThresholdPage(m))
}

func (s *Service) thresholdModel(r *http.Request, c *chosen) (ThresholdEdit, error) {
	p := req.Of(r).P
	m := ThresholdEdit{Page: s.NewPage(r, "threshold.title", "rules"), Revision: c.stored.Revision,
		Action: thresholdPath(c.limit, c.species, c.stage), Key: c.limit.String(),
		Name: p.T(c.limit.MessageKey()), Scope: scopeText(p, c.species, c.stage), Species: string(c.species),
		Stage: string(c.stage)}
	m.Title = m.Name
	m.Styles = []string{"pieces.css", "tank.css", "flags.css"}
	fact := func(key, value string) { m.Facts = append(m.Facts, ui.Fact{Label: p.T(key), Value: value}) }
	fact("threshold.holds_for", m.Scope)
	if c.row.HasStock {
		fact("threshold.stock", thresholdValue(p, c.row.Unit, c.row.Value)+" – "+stockSource(p, c.row))
	}
	if !c.exact && c.row.Limit == c.limit {
		fact("threshold.inherited", scopeText(p, c.row.Species, c.row.Stage))
	}
	if list := c.morePrecise(p); len(list) > 0 {
		fact("threshold.more_precise", strings.Join(list, "; "))
	}
	if c.row.Local != nil {
		fact("threshold.local", thresholdValue(p, c.row.Unit, c.row.Local.Value)+" – "+c.row.Local.Reason)
	}
	m.HasLocal = c.stored.Value.OK
	unit := c.row.Unit
	switch unit {
	case "Cel", "K":
		unit = p.UnitSymbol()
	case "d":
		unit = p.T("threshold.days")
	case "1", "[pH]":
		unit = ""
	}
	label := p.T("threshold.value")
	if unit != "" {
		label = p.T("threshold.value_in", logbook.Args{"Unit": unit})
	}
	low, high := c.limit.Bounds()
	m.Value = ui.Field{Name: "value", Label: label, Mode: "decimal", Width: "w-num",
		Hint: p.T("threshold.bounds", logbook.Args{"Low": thresholdNumber(p, c.row.Unit, low),
			"High": thresholdNumber(p, c.row.Unit, high)})}
	m.Reason = ui.Field{Name: "reason", Label: p.T("threshold.reason"), Hint: p.T("threshold.reason_hint")}
	if c.limit.Scoped() {
		for _, sp := range logbook.AllSpecies() {
			m.AllSpecies = append(m.AllSpecies, ui.Option{Value: string(sp), Label: p.T(sp.MessageKey())})
		}
		for _, st := range logbook.Stages() {
			m.AllStages = append(m.AllStages, ui.Option{Value: string(st), Label: p.T(st.MessageKey())})
		}
	}
	var err error
	m.History, err = s.thresholdHistory(r.Context(), p, c)
	return m, err
}

func stockSource(p *i18n.Printer, row rules.Row) string {
	if row.Source == "" {
		return p.T(row.Known.MessageKey())
	}
	row.Local = nil // of the stock value, whatever is in use
	return sourceText(p, row)
}

// thresholdHistory lists the values that a limit has had, newest first.
func (s *Service) thresholdHistory(ctx context.Context, p *i18n.Printer, c *chosen) ([]ThresholdChange, error) {
	if c.stored.ID == "" {
		return nil, nil
	}
	zone, err := s.programmeZone(ctx)
	if err != nil {
		return nil, err
	}
	write := func(t store.Threshold) ThresholdChange {
		x := ThresholdChange{When: p.Date(civil.In(t.ChangedAt, zone)), By: t.ChangedLabel, Reason: t.Reason,
			Value: p.T("threshold.to_stock")}
		if v, ok := t.Value.Get(); ok {
			x.Value = thresholdValue(p, c.row.Unit, v)
		}
		return x
	}
	out := []ThresholdChange{write(c.stored)}
	past, err := s.DB.RowHistory(ctx, c.stored.ID)
	if err != nil {
		return nil, err
	}
	for i := len(past) - 1; i >= 0; i-- {
		t, err := past[i].Threshold()
		if err != nil {
			return nil, err
		}
		out = append(out, write(t))
	}
	return out, nil
}
