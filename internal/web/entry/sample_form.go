package entry

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// readSample reads a sent form. Weights of single fish give the number and the
// total where those were left out.
func readSample(f *form.Form, season *logbook.Season) logbook.Sample {
	m := logbook.Sample{SeasonID: season.ID}
	form.ReadFields(f, logbook.SampleFields(), season.Site.TemperatureUnit, &m)
	form.FillSample(&m, f.Text("count") != "", f.Text("total_g") != "")
	return m
}

func sampleLabel(p *i18n.Printer) func(field string) string {
	return func(field string) string {
		if field == "revision" {
			return p.T("entry.revision")
		}
		return p.T("sample.field." + field)
	}
}

// sampleForm fills the parts that new samples and corrections share.
func (s *Service) sampleForm(r *http.Request, titleKey string, season *logbook.Season, f *form.Form) EventForm {
	s.splitDay(r, season, f)
	m := EventForm{Page: s.EntryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: ui.SeasonPath(season.ID), Posted: r.Method == http.MethodPost, Values: map[string]string{}}
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
	m.More = append(b.List, ui.FormItem{Kind: ui.AreaItem,
		Field: ui.Field{Name: "note", Label: m.T("sample.field.note"), Value: f.Raw("note"),
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

func sampleLines(p *i18n.Printer, m *logbook.Sample) []ui.EntryLine {
	var out []ui.EntryLine
	for _, field := range words.SampleFields {
		if text := words.SampleText(p, m, field); text != "" {
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
