package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// sampleFields are the fields of a sample in the order in which they are shown.
var sampleFields = []string{"on", "count", "total_g", "weights_g", "lengths_mm", "lost", "note", "observer"}

// sampleNumbers reads a list of numbers as typed: spaces, semicolons or lines
// between; a comma with a space behind it also parts two numbers, else it is a
// decimal mark.
func sampleNumbers[T ~float64](f *form, field string) []T {
	var out []T
	text := strings.NewReplacer(", ", " ", ";", " ").Replace(f.text(field))
	for _, word := range strings.Fields(text) {
		v, key := logbook.ParseDecimal(word)
		if key != "" {
			f.fail(field, "sample.list", logbook.Args{"Word": word})
			return nil
		}
		out = append(out, T(v))
	}
	return out
}

// readSample reads a sent form. Weights of single fish give the number and the
// total where those were left out.
func readSample(f *form, season *logbook.Season) logbook.Sample {
	m := logbook.Sample{SeasonID: season.ID, On: readDay(f, "on"), Weights: sampleNumbers[units.Grams](f, "weights_g"),
		Lengths: sampleNumbers[units.Millimetres](f, "lengths_mm"), Lost: f.count("lost"), Note: readNote(f, "note"), Observer: f.text("observer")}
	count, total := f.count("count"), optional[units.Grams](f, "total_g")
	m.Count, m.Total = count.V, total.V
	fillSample(&m, count.OK, total.OK)
	return m
}

// fillSample takes from the weights of single fish what was not said.
func fillSample(m *logbook.Sample, hasCount, hasTotal bool) {
	if len(m.Weights) == 0 {
		return
	}
	if !hasCount {
		m.Count = len(m.Weights)
	}
	if !hasTotal {
		m.Total = 0
		for _, w := range m.Weights {
			m.Total += w
		}
	}
}

// judgeSample says what is wrong with a sample. Surprising values for which ok
// holds are noted in it as confirmed.
func (s *Server) judgeSample(r *http.Request, m *logbook.Sample, season *logbook.Season, ok func(field string) bool) ([]logbook.Problem, error) {
	a, err := s.assess(r.Context(), season, visitOf(r).now)
	if err != nil {
		return nil, err
	}
	m.Confirmed = nil
	var left []logbook.Problem
	for _, p := range m.Validate(report.SampleContextOf(season, m, a.Today, &a.Forecast)) {
		if p.Soft && ok(p.Field) {
			m.Confirmed = append(m.Confirmed, p.Field)
			continue
		}
		left = append(left, p)
	}
	slices.Sort(m.Confirmed)
	return left, nil
}

// sampleConfirmed tells whether a surprising value is confirmed: in the form, or
// when it was first stored.
func sampleConfirmed(f *form, m, before *logbook.Sample) func(field string) bool {
	return func(field string) bool {
		if slices.Contains(f.values["confirm"], field) || slices.Contains(f.values["was_confirmed"], field+"="+f.text(field)) {
			return true
		}
		return before != nil && slices.Contains(before.Confirmed, field) && sampleSame(m, before)
	}
}

// sampleSame reports whether the numbers of two samples are the same.
func sampleSame(a, b *logbook.Sample) bool {
	return a.Count == b.Count && a.Total == b.Total && slices.Equal(a.Lengths, b.Lengths) && a.On == b.On
}

// keepSampleConfirmed remembers in the form what was confirmed, so that nobody
// is asked twice.
func keepSampleConfirmed(f *form, m *logbook.Sample) {
	f.values.Del("was_confirmed")
	for _, field := range m.Confirmed {
		f.values.Add("was_confirmed", field+"="+f.text(field))
	}
}

func sampleLabel(p *i18n.Printer) func(field string) string {
	return func(field string) string { return p.T("sample.field." + field) }
}

// sampleForm fills the parts that new samples and corrections share.
func (s *Server) sampleForm(r *http.Request, titleKey string, season *logbook.Season, f *form) view.EventForm {
	s.splitDay(r, season, f)
	m := view.EventForm{Page: s.entryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID), Posted: r.Method == http.MethodPost, Values: map[string]string{}}
	m.Intro, m.Caution = m.T("sample.intro"), m.T("sample.caution")
	m.Days = dayTiles(m.P, s.today(season.Site, visitOf(r).now))
	for _, name := range []string{"on", "on_other", "reason", "reason_text"} {
		m.Values[name] = f.raw(name)
	}
	b := formItems(s.cat, m.P, "sample.field")
	b.number("count", f.raw("count"), "numeric", false)
	b.number("total_g", f.raw("total_g"), "decimal", false)
	b.number("lost", f.raw("lost"), "numeric", true)
	m.Needed = b.list
	b = formItems(s.cat, m.P, "sample.field")
	for _, name := range []string{"lengths_mm", "weights_g"} {
		b.optionalText(name, f.raw(name))
	}
	m.More = append(b.list, view.FormItem{Kind: view.AreaItem, Field: view.Field{Name: "note", Label: m.T("sample.field.note"), Value: f.raw("note"),
		Optional: true, Hint: m.T("check.hint.note")}})
	b = formItems(s.cat, m.P, "sample.field")
	b.optionalText("observer", f.raw("observer"))
	b.list[0].Hint = m.T("check.hint.observer")
	m.More = append(m.More, b.list...)
	m.Problems = showProblems(m.P, f.problems, sampleLabel(m.P))
	m.Error = len(f.problems) > 0
	for _, c := range f.values["was_confirmed"] {
		m.Hidden = append(m.Hidden, view.Option{Value: "was_confirmed", Label: c})
	}
	return m
}

// sampleValues are the values of the form that say what a sample says.
func sampleValues(p *i18n.Printer, m *logbook.Sample) map[string]string {
	return map[string]string{"on": m.On.String(), "count": strconv.Itoa(m.Count), "total_g": typed(p, float64(m.Total)),
		"weights_g": typedList(p, m.Weights), "lengths_mm": typedList(p, m.Lengths), "lost": typedCount(m.Lost), "note": m.Note, "observer": m.Observer}
}

// typedList writes numbers so that they read back as the same numbers.
func typedList[T ~float64](p *i18n.Printer, list []T) string {
	var out []string
	for _, v := range list {
		out = append(out, typed(p, float64(v)))
	}
	return strings.Join(out, " ")
}

// sampleText writes one field of a sample for reading, "" when nothing was said.
func sampleText(p *i18n.Printer, m *logbook.Sample, field string) string {
	switch field {
	case "on":
		return p.DateWeekday(m.On)
	case "count":
		return p.Count(m.Count)
	case "total_g":
		return typed(p, float64(m.Total)) + "\u00a0g"
	case "weights_g":
		return typedList(p, m.Weights)
	case "lengths_mm":
		return typedList(p, m.Lengths)
	case "lost":
		return typedCount(m.Lost)
	case "note":
		return m.Note
	case "observer":
		return m.Observer
	}
	return ""
}

func sampleLines(p *i18n.Printer, m *logbook.Sample) []view.EntryLine {
	var out []view.EntryLine
	for _, field := range sampleFields {
		if text := sampleText(p, m, field); text != "" {
			out = append(out, view.EntryLine{Field: field, Label: p.T("sample.field." + field), Value: text})
		}
	}
	return out
}

// sampleFindings are what follows from a sample, for reading.
func sampleFindings(p *i18n.Printer, season *logbook.Season, id logbook.ID, today civil.Date) []view.EntryLine {
	var out []view.EntryLine
	add := func(key, value string) { out = append(out, view.EntryLine{Label: p.T(key), Value: value}) }
	for _, x := range report.SamplesOf(season, today) {
		if x.Sample.ID != id {
			continue
		}
		add("sample.mean", p.T("sample.mean_range", logbook.Args{"Mean": x.Mean, "Low": x.Low, "High": x.High}))
		if x.Length.OK {
			add("sample.mean_length", p.Value(x.Length.V))
		}
		if x.Condition.OK {
			add("sample.k", p.Num(x.Condition.V, 2))
		}
		if x.Growth.OK {
			add("sample.growth", sampleGrowth(p, x))
		}
	}
	return out
}

func sampleGrowth(p *i18n.Printer, x report.SampleLine) string {
	g := x.Growth.V
	return p.T("sample.growth_range", logbook.Args{"Rate": p.Num(g.PerDay, 1), "Low": p.Num(g.Low, 1), "High": p.Num(g.High, 1), "Count": x.Days})
}
