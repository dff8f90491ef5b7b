package reports

import (
	"errors"
	"net/http"
	"strconv"
	"time"
	"unicode/utf8"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// guidedField is one question of a guided page. Every answer may be left open
// until the last step. min and max bound numbers.
type guidedField struct {
	name     string
	kind     string // text, area, number, count, temperature, tick, date, time, or a name of guide.choices
	min, max float64
}

// guidedStep is one screen of a guided page.
type guidedStep struct {
	id     string
	fields []guidedField
}

// guide is a page that asks step by step and saves each step, so that it can be
// left and taken up again. Its texts begin with its prefix.
type guide struct {
	prefix  string
	kind    store.DraftKind
	subject logbook.ID
	path    string // of the page
	back    ui.PageLink
	steps   []guidedStep
	choices map[string][]ui.Option
	p       *i18n.Printer
	draft   store.Draft
	taken   func() // looks at the answers that were just read, nil for nothing
	step    guidedStep
	// hidden steps are passed over; blind fields never show what was stored.
	hidden map[string]bool
	blind  map[string]bool
}

const guidedText = 200 // longest answer on one line

// at chooses a step by its id, the first for an unknown one.
func (g *guide) at(id string) {
	g.step = g.steps[0]
	for _, s := range g.steps {
		if s.id == id && !g.hidden[id] {
			g.step = s
		}
	}
}

// next is the step after the present one.
func (g *guide) next() string {
	found := false
	for _, s := range g.steps {
		if found && !g.hidden[s.id] {
			return s.id
		}
		found = found || s.id == g.step.id
	}
	return g.step.id
}

// answers are the stored answers as a form, to be read by the usual readers.
func (g *guide) answers() *form.Form {
	f := form.NewForm()
	for k, v := range g.draft.Data {
		f.Set(k, v)
	}
	return f
}

// take reads the answers of the present step into the draft's data; problems
// stand in f.
func (g *guide) take(f *form.Form) {
	for _, q := range g.step.fields {
		g.judge(f, q)
		text := f.Text(q.name)
		switch {
		case text == "" && g.blind[q.name]: // what was counted stays
		case text == "":
			delete(g.draft.Data, q.name)
		default:
			g.draft.Data[q.name] = text
		}
	}
	if g.taken != nil {
		g.taken()
	}
}

func (g *guide) judge(f *form.Form, q guidedField) {
	switch q.kind {
	case "number":
		if v, ok := f.Number(q.name).Get(); ok && (v < q.min || v > q.max) {
			f.Fail(q.name, "number.between", logbook.Args{"Min": q.min, "Max": q.max})
		}
	case "count":
		if n, ok := f.Count(q.name).Get(); ok && (n < int(q.min) || n > int(q.max)) {
			f.Fail(q.name, "number.whole_between", logbook.Args{"Min": int(q.min), "Max": int(q.max)})
		}
	case "temperature":
		if t, _, _ := f.Temperature(q.name, g.p.Unit()); t.OK && (float64(t.V) < q.min || float64(t.V) > q.max) {
			f.Fail(q.name, "temperature.between", logbook.Args{"Min": units.Celsius(q.min),
				"Max": units.Celsius(q.max)})
		}
	case "date":
		f.Date(q.name)
	case "time":
		t := form.ReadTime(f, q.name)
		if _, err := time.Parse("15:04", t); t != "" && err != nil {
			f.Fail(q.name, "check.time", nil)
		}
		f.Set(q.name, t)
	case "text", "area":
		limit := guidedText
		if q.kind == "area" {
			limit *= 2
		}
		if utf8.RuneCountInString(f.Text(q.name)) > limit {
			f.Fail(q.name, "entry.too_long", logbook.Args{"Max": limit})
		}
	case "tick":
	default:
		if v := f.Text(q.name); v != "" && !hasOption(g.choices[q.kind], v) {
			f.Fail(q.name, "choice.unknown", nil)
		}
	}
}

func hasOption(list []ui.Option, value string) bool {
	for _, o := range list {
		if o.Value == value {
			return true
		}
	}
	return false
}

// guidedItems shows the questions of the present step with the answers in f.
func (s *Service) guidedItems(g *guide, f *form.Form) *form.Items {
	b := form.FormItems(s.Cat, g.p, g.prefix)
	args := map[string]any{"Unit": g.p.Unit()}
	for _, q := range g.step.fields {
		value := f.Raw(q.name)
		switch q.kind {
		case "text":
			b.OptionalText(q.name, value)
		case "area":
			b.Area(q.name, value)
		case "number":
			b.Number(q.name, value, "decimal", true)
		case "temperature":
			b.Number(q.name, value, "decimal", true, args)
		case "count":
			b.Number(q.name, value, "numeric", true)
		case "tick":
			b.Tick(q.name, value != "")
		case "date":
			b.Date(q.name, value, true)
		case "time":
			b.OptionalText(q.name, value)
		default:
			b.Pick(q.name, value, g.choices[q.kind])
		}
	}
	return b
}

// renderGuide shows the present step. f holds what was typed when it comes with
// problems, else nil.
func (s *Service) renderGuide(w http.ResponseWriter, r *http.Request, g *guide, f *form.Form, m GuidedPage) error {
	status := http.StatusOK
	shown := f
	if f == nil {
		shown = g.answers()
		for name := range g.blind {
			shown.Set(name, "")
		}
	}
	b := s.guidedItems(g, shown)
	m.Page = s.NewPage(r, g.prefix+".title", "board")
	m.P = g.p
	m.Styles = []string{"release.css"}
	m.Title = g.p.T(g.prefix+".title", logbook.Args{"Tank": m.Tank})
	m.Back, m.BackHref = g.back.Text, g.back.Href
	m.StepTitle = g.p.T(g.prefix + ".step." + g.step.id)
	if intro := g.prefix + ".intro." + g.step.id; s.Cat.Has(intro) {
		m.Intro = g.p.T(intro)
	}
	for i := 1; s.Cat.Has(g.prefix + ".caution." + g.step.id + strconv.Itoa(i)); i++ {
		m.Cautions = append(m.Cautions, g.p.T(g.prefix+".caution."+g.step.id+strconv.Itoa(i)))
	}
	for _, st := range g.steps {
		if !g.hidden[st.id] {
			m.Steps = append(m.Steps, GuidedStep{Href: g.path + "?step=" + st.id,
				Text: g.p.T(g.prefix + ".step." + st.id), Current: st.id == g.step.id})
		}
	}
	submit := "guided.save"
	if g.next() == g.step.id {
		submit = g.prefix + ".finish"
	}
	revision := g.draft.Revision
	if f != nil {
		status, m.Error = http.StatusUnprocessableEntity, true
		m.Form.Problems = b.Problems(f.Problems)
		if f.Has("revision") {
			status = http.StatusConflict
		}
	}
	m.Form.Page, m.Form.Action, m.Form.Submit, m.Form.Items = m.Page, g.path, g.p.T(submit), b.List
	m.Form.Hidden = []ui.Option{form.RevisionField(revision), {Value: "step", Label: g.step.id}}
	if g.draft.Revision > 0 {
		m.Saved = g.p.T("guided.saved", logbook.Args{"By": g.draft.ByLabel})
	}
	return s.Render(w, r, status, GuidedPageView(m))
}

// saveGuide stores the answers of the present step. ok is false when there is a
// problem in f to be shown.
func (s *Service) saveGuide(r *http.Request, g *guide, f *form.Form) (ok bool, err error) {
	v := req.Of(r)
	from := f.Revision()
	g.take(f)
	if len(f.Problems) > 0 {
		return false, nil
	}
	g.draft.Revision, err = s.DB.SaveDraft(r.Context(), v.Actor, g.kind, g.subject, g.draft.Data, from, v.Now)
	return s.guideFailed(r, g, f, err)
}

// guideFailed turns problems that the store found into those of the form, and
// takes what somebody else has saved meanwhile.
func (s *Service) guideFailed(r *http.Request, g *guide, f *form.Form, err error) (ok bool, _ error) {
	var e *logbook.Error
	switch {
	case err == nil:
		return true, nil
	case errors.As(err, &e) && len(e.Problems) > 0:
		f.Add(e.Problems)
		return false, nil
	case errors.As(err, &e) && e.Key == "error.stale":
		f.Fail("revision", "guided.stale", nil)
		g.draft, err = s.DB.Draft(r.Context(), g.kind, g.subject)
		return false, err
	}
	return false, err
}

// optTemperature reads a stored answer; one that cannot be read counts as open.
func optTemperature(f *form.Form, name string, unit units.TemperatureUnit) units.Optional[units.Celsius] {
	t, _, _ := f.Temperature(name, unit)
	return t
}

// guidedDay is the stored day, today when it is open.
func guidedDay(f *form.Form, name string, today civil.Date) civil.Date {
	if d := f.Date(name); !d.IsZero() {
		return d
	}
	return today
}
