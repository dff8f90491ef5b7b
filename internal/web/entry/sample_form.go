package entry

import (
	"net/http"
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// sampleNumbers reads a list of numbers as typed: spaces, semicolons or lines
// between; a comma with a space behind it also parts two numbers, else it is a
// decimal mark.
func sampleNumbers[T ~float64](f *form.Form, field string) []T {
	var out []T
	text := strings.NewReplacer(", ", " ", ";", " ").Replace(f.Text(field))
	for _, word := range strings.Fields(text) {
		v, key := logbook.ParseDecimal(word)
		if key != "" {
			f.Fail(field, "sample.list", logbook.Args{"Word": word})
			return nil
		}
		out = append(out, T(v))
	}
	return out
}

// readSample reads a sent form. Weights of single fish give the number and the
// total where those were left out.
func readSample(f *form.Form, season *logbook.Season) logbook.Sample {
	m := logbook.Sample{SeasonID: season.ID, On: readDay(f, "on"), Weights: sampleNumbers[units.Grams](f, "weights_g"),
		Lengths: sampleNumbers[units.Millimetres](f, "lengths_mm"), Lost: f.Count("lost"), Note: form.ReadNote(f, "note"), Observer: f.Text("observer")}
	count, total := f.Count("count"), form.Optional[units.Grams](f, "total_g")
	m.Count, m.Total = count.V, total.V
	form.FillSample(&m, count.OK, total.OK)
	return m
}

func sampleLabel(p *i18n.Printer) func(field string) string {
	return func(field string) string { return p.T("sample.field." + field) }
}

// sampleForm fills the parts that new samples and corrections share.
func (s *Service) sampleForm(r *http.Request, titleKey string, season *logbook.Season, f *form.Form) EventForm {
	s.splitDay(r, season, f)
	m := EventForm{Page: s.EntryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID), Posted: r.Method == http.MethodPost, Values: map[string]string{}}
	m.Intro, m.Caution = m.T("sample.intro"), m.T("sample.caution")
	m.Days = dayTiles(m.P, s.Assess.Today(season.Site, req.Of(r).Now))
	for _, name := range []string{"on", "on_other", "reason", "reason_text"} {
		m.Values[name] = f.Raw(name)
	}
	b := form.FormItems(s.Cat, m.P, "sample.field")
	b.Number("count", f.Raw("count"), "numeric", false)
	b.Number("total_g", f.Raw("total_g"), "decimal", false)
	b.Number("lost", f.Raw("lost"), "numeric", true)
	m.Needed = b.List
	b = form.FormItems(s.Cat, m.P, "sample.field")
	for _, name := range []string{"lengths_mm", "weights_g"} {
		b.OptionalText(name, f.Raw(name))
	}
	m.More = append(b.List, ui.FormItem{Kind: ui.AreaItem, Field: ui.Field{Name: "note", Label: m.T("sample.field.note"), Value: f.Raw("note"),
		Optional: true, Hint: m.T("check.hint.note")}})
	b = form.FormItems(s.Cat, m.P, "sample.field")
	b.OptionalText("observer", f.Raw("observer"))
	b.List[0].Hint = m.T("check.hint.observer")
	m.More = append(m.More, b.List...)
	m.Problems = form.ShowProblems(m.P, f.Problems, sampleLabel(m.P))
	m.Problems.AskAbove()
	m.Error, m.Asked = len(f.Problems) > 0, f.Asked()
	for _, c := range f.Values["was_confirmed"] {
		m.Hidden = append(m.Hidden, ui.Option{Value: "was_confirmed", Label: c})
	}
	return m
}

// sampleValues are the values of the form that say what a sample says.
func sampleValues(p *i18n.Printer, m *logbook.Sample) map[string]string {
	return map[string]string{"on": m.On.String(), "count": strconv.Itoa(m.Count), "total_g": words.Typed(p, float64(m.Total)),
		"weights_g": typedList(p, m.Weights), "lengths_mm": typedList(p, m.Lengths), "lost": words.TypedCount(m.Lost), "note": m.Note, "observer": m.Observer}
}

// typedList writes numbers so that they read back as the same numbers.
func typedList[T ~float64](p *i18n.Printer, list []T) string {
	var out []string
	for _, v := range list {
		out = append(out, words.Typed(p, float64(v)))
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
		return words.Typed(p, float64(m.Total)) + "\u00a0g"
	case "weights_g":
		return typedList(p, m.Weights)
	case "lengths_mm":
		return typedList(p, m.Lengths)
	case "lost":
		return words.TypedCount(m.Lost)
	case "note":
		return m.Note
	case "observer":
		return m.Observer
	}
	return ""
}

func sampleLines(p *i18n.Printer, m *logbook.Sample) []ui.EntryLine {
	var out []ui.EntryLine
	for _, field := range words.SampleFields {
		if text := sampleText(p, m, field); text != "" {
			out = append(out, ui.EntryLine{Field: field, Label: p.T("sample.field." + field), Value: text})
		}
	}
	return out
}

// sampleFindings are what follows from a sample, for reading.
func sampleFindings(p *i18n.Printer, season *logbook.Season, id logbook.ID, today civil.Date) []ui.EntryLine {
	var out []ui.EntryLine
	add := func(key, value string) { out = append(out, ui.EntryLine{Label: p.T(key), Value: value}) }
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
			add("sample.growth", words.SampleGrowth(p, x))
		}
	}
	return out
}
