package care

import (
	"errors"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/care"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

const careFailure = "/failure"

const careWater = "/water"

// careRoutes are the answers about a tank: for everyone of the school.
func (s *Service) careRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}"+careFailure, s.Page(s.failureShow))
	r.Get("/seasons/{seasonID}"+careWater, s.Page(s.waterShow))
	r.Get("/seasons/{seasonID}"+ui.PageFood, s.Page(s.foodShow))
	r.Get("/failure", s.Page(s.failurePick))
}

// carePage starts an answer page of a season.
func (s *Service) carePage(r *http.Request, season *logbook.Season, titleKey, here string) ui.CarePage {
	page := s.NewPage(r, titleKey, "board")
	page.P = s.InSite(req.Of(r), season.Site)
	page.Styles = []string{"care.css"}
	v := ui.CarePage{Page: page, Place: season.Tank.Name + ", " + season.Site.Name}
	base := ui.SeasonPath(season.ID)
	for _, l := range []struct{ end, key string }{{"", "care.to_tank"}, {careFailure, "care.failure"},
		{careWater, "care.water"}, {ui.PageFood, "food.title"}} {
		v.Links = append(v.Links, ui.CareLink{Href: base + l.end, Label: page.T(l.key), Here: l.end == here})
	}
	v.Links = append(v.Links, ui.CareLink{Href: "/calculators", Label: page.T("care_calc.title")})
	return v
}

// careAsked is the form of an answer page as its address asks it.
func careAsked(r *http.Request) (f *form.Form, asked bool) {
	q := r.URL.Query()
	return &form.Form{Values: q}, q.Get("asked") != ""
}

// careRange turns the refusal of a formula into a problem of the field that
// stands for its quantity, in the reader's units. It returns false for another
// error.
func careRange(f *form.Form, p *i18n.Printer, err error, fields map[string]string) bool {
	var out units.RangeError
	if !errors.As(err, &out) {
		return false
	}
	field, key := fields[out.Quantity], "calc.between"
	if out.Quantity == "temperature_after" {
		key = "calc.result_between"
	}
	if field == "" {
		field = fields[""]
	}
	show := func(v float64) string {
		if out.Unit == "Cel" {
			return p.Temp(units.Celsius(v))
		}
		return form.Quantity(p, v, out.Unit)
	}
	f.Fail(field, key, logbook.Args{"Low": show(out.Low), "High": show(out.High)})
	return true
}

// careNumber reads a number that must be there.
func careNumber(f *form.Form, field string) float64 {
	v := f.Number(field)
	if !v.OK && !f.Has(field) {
		f.Fail(field, "number.not", nil)
	}
	return v.V
}

// careTemperature reads a temperature that must be there.
func careTemperature(f *form.Form, field string, def units.TemperatureUnit) units.Celsius {
	v, _, _ := f.Temperature(field, def)
	if !v.OK && !f.Has(field) {
		f.Fail(field, "number.not", nil)
	}
	return v.V
}

// careMoment reads a day and a time of day on the wall of a site.
func careMoment(f *form.Form, day, clock string, loc *time.Location) time.Time {
	d := f.Date(day)
	if d.IsZero() && !f.Has(day) {
		f.Fail(day, "date.empty", nil)
	}
	c, err := time.Parse("15:04", f.Text(clock))
	if err != nil {
		f.Fail(clock, "check.time", nil)
	}
	if f.Has(day) || f.Has(clock) {
		return time.Time{}
	}
	y, m, n := d.YMD()
	return time.Date(y, m, n, c.Hour(), c.Minute(), 0, 0, loc)
}

// stepTexts writes steps of advice.
func stepTexts(p *i18n.Printer, list []care.Step) []string {
	var out []string
	for _, s := range list {
		out = append(out, p.T(s.Key(), s.Args))
	}
	return out
}

// careHours writes a span of hours in words.
func careHours(p *i18n.Printer, h float64) string {
	switch {
	case h == 0:
		return p.T("care.hours.now")
	case h < 2:
		return p.T("care.hours.minutes", logbook.Args{"Count": max(1, int(units.Round(h*60/5, 0))) * 5})
	case h < 72:
		return p.T("care.hours.hours", logbook.Args{"Count": int(units.Round(h, 0))})
	}
	return p.T("care.hours.days", logbook.Args{"Count": int(units.Round(h/24, 0))})
}
