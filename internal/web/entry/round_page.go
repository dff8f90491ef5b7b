package entry

import (
	"net/http"
	"slices"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// renderRound shows the page; a row that was sent keeps its fields even when its
// tank has a check by now.
func (s *Service) renderRound(w http.ResponseWriter, r *http.Request, site logbook.Site, tanks []*roundTank,
	f *form.Form) error {
	v := req.Of(r)
	day, _ := civil.Parse(f.Text("on"))
	p := s.NewPage(r, "round.title", "sites")
	p.P = s.InSite(v, site)
	p.Styles = []string{"keeper.css"}
	m := RoundPage{Page: p, Site: site.Name, SiteHref: ui.SitePath(site.ID), On: day.String(),
		Day:   p.P.DateWeekday(day),
		Draft: "round:" + string(site.ID) + ":" + day.String(), Posted: r.Method == http.MethodPost,
		Stored: p.Notice != ""}
	for i := 1; i <= 7; i++ {
		d := s.Assess.Today(site, v.Now).AddDays(-i)
		m.Earlier = append(m.Earlier, ui.Option{Value: d.String(), Label: p.P.DateWeekday(d)})
	}
	m.Observer = ui.Field{Name: "observer", Label: p.T("check.field.observer"), Hint: p.T("check.hint.observer"),
		Value: f.Raw("observer"), Optional: true}
	labels, order := map[string]string{"on": p.T("check.field.on"), "observer": m.Observer.Label}, []string{"on"}
	for _, t := range tanks {
		row := roundRowView(p, t, m.Posted)
		m.Open += len(row.Fields)
		for _, x := range row.Fields {
			labels[x.Name] = row.Tank + ", " + x.Label
			order = append(order, x.Name)
		}
		m.Rows = append(m.Rows, row)
	}
	order = append(order, "observer")
	slices.SortStableFunc(f.Problems, func(a, b logbook.Problem) int {
		return slices.Index(order,
			a.Field) - slices.Index(order, b.Field)
	})
	m.Problems = form.ShowProblems(p.P, f.Problems, func(field string) string { return labels[field] })
	status := http.StatusOK
	if m.Error = len(f.Problems) > 0; m.Error {
		status = http.StatusUnprocessableEntity
	}
	return s.Render(w, r, status, RoundPageView(m))
}

// roundRowView is the row of a tank: its fields, or the check that is stored.
func roundRowView(p ui.Page, t *roundTank, posted bool) RoundRow {
	k := t.season.Tank
	row := RoundRow{ID: string(t.season.ID), Tank: k.Name, Href: ui.SeasonPath(t.season.ID)}
	sent := false
	for _, name := range roundRowFields {
		sent = sent || (posted && t.form.Text(name) != "")
	}
	if t.taken != nil {
		row.Taken = p.T("round.done", logbook.Args{"At": words.EnteredAt(p.P, t.season, t.taken),
			"By": words.EnteredBy(p.P, t.taken)})
		row.Says, row.TakenHref = roundSays(p, t.taken), ui.CheckPath(t.taken.ID)
		if !sent {
			return row
		}
	}
	add := func(kind ui.ItemKind, name, label, mode string, options []ui.Option) {
		row.Fields = append(row.Fields, ui.FormItem{Kind: kind, Options: options,
			Field: ui.Field{Name: roundField(t, name), Label: label, Value: t.form.Raw(name), Mode: mode,
				Width: "round-" + name}})
	}
	unit := p.P.UnitSymbol()
	add(ui.TextItem, "temperature", ui.CheckFieldLabel(p, "temperature", unit), "decimal", nil)
	if options := roundGearOptions(p, roundGear(k)); len(options) > 0 {
		add(ui.SelectItem, "gear", p.T("round.gear"), "", options)
	}
	asked := RoundDead(t.stage)
	for _, name := range []string{"dead_eggs", "dead_alevins", "dead_fry"} {
		// What was typed is never hidden, whatever the stage is by now.
		if slices.Contains(asked, name) || t.form.Raw(name) != "" {
			add(ui.TextItem, name, ui.CheckFieldLabel(p, name, ""), "numeric", nil)
		}
	}
	add(ui.SelectItem, "stage", ui.CheckFieldLabel(p, "stage", ""), "",
		words.KeyedOptions(p.P, logbook.StagesAbout(t.stage, logbook.Stage(t.form.Raw("stage")))))
	add(ui.TextItem, "note", ui.CheckFieldLabel(p, "note", ""), "", nil)
	row.Hidden = append(row.Hidden, ui.Option{Value: roundField(t, "key"), Label: t.form.Raw("key")})
	for _, c := range t.form.Values["was_confirmed"] {
		row.Hidden = append(row.Hidden, ui.Option{Value: roundField(t, "was_confirmed"), Label: c})
	}
	return row
}

// roundSays is what a stored check says of the essentials.
func roundSays(p ui.Page, c *logbook.Check) string {
	var parts []string
	for _, field := range []string{"temperature", "chiller", "filter", "air_pump", "stage", "note"} {
		text := words.CheckText(p.P, c, field)
		switch field {
		case "chiller", "filter", "air_pump":
			if text != "" {
				text = p.T("round.gear."+field) + " " + text
			}
		}
		if text != "" {
			parts = append(parts, text)
		}
	}
	if n, counted := c.Dead(); counted {
		parts = append(parts, p.T("round.dead", logbook.Args{"Count": n}))
	}
	return strings.Join(parts, ", ")
}

// roundGearOptions are the answers about the equipment of a tank: all running,
// every choice of stopped pieces, not checked.
func roundGearOptions(p ui.Page, fitted []string) []ui.Option {
	if len(fitted) == 0 {
		return nil
	}
	out := []ui.Option{{Value: string(logbook.Running),
		Label: p.T("round.gear.running", logbook.Args{"Count": len(fitted)})}}
	for size := 1; size <= len(fitted); size++ {
		for set := 1; set < 1<<len(fitted); set++ {
			var names, words []string
			for i, name := range fitted {
				if set>>i&1 == 1 {
					names, words = append(names, name), append(words, p.T("round.gear."+name))
				}
			}
			if len(names) == size {
				out = append(out, ui.Option{Value: strings.Join(names, "+"),
					Label: p.T("round.gear.stopped", logbook.Args{"What": strings.Join(words, ", ")})})
			}
		}
	}
	return append(out, ui.Option{Value: string(logbook.NotChecked), Label: p.T(logbook.NotChecked.MessageKey())})
}
