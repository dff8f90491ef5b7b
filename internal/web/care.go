package web

import (
	"errors"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/care"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// Pages of a tank that answer a question, by the end of their address.
const (
	careFailure = "/failure"
	careWater   = "/water"
	pageFood    = "/food"
)

// careRoutes are the answers about a tank: for everyone of the school.
func (s *Server) careRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}"+careFailure, s.page(s.failureShow))
	r.Get("/seasons/{seasonID}"+careWater, s.page(s.waterShow))
	r.Get("/seasons/{seasonID}"+pageFood, s.page(s.foodShow))
	r.Get("/failure", s.page(s.failurePick))
}

// carePage starts an answer page of a season.
func (s *Server) carePage(r *http.Request, season *logbook.Season, titleKey, here string) view.CarePage {
	page := s.newPage(r, titleKey, "board")
	page.P = s.inSite(visitOf(r), season.Site)
	page.Styles = []string{"care.css"}
	v := view.CarePage{Page: page, Place: season.Tank.Name + ", " + season.Site.Name}
	base := "/seasons/" + string(season.ID)
	for _, l := range []struct{ end, key string }{{"", "care.to_tank"}, {careFailure, "care.failure"}, {careWater, "care.water"}, {pageFood, "food.title"}} {
		v.Links = append(v.Links, view.CareLink{Href: base + l.end, Label: page.T(l.key), Here: l.end == here})
	}
	v.Links = append(v.Links, view.CareLink{Href: "/calculators", Label: page.T("care_calc.title")})
	return v
}

// careAsked is the form of an answer page as its address asks it.
func careAsked(r *http.Request) (f *form, asked bool) {
	q := r.URL.Query()
	return &form{values: q}, q.Get("asked") != ""
}

// careRange turns the refusal of a formula into a problem of the field that
// stands for its quantity, in the reader's units. It returns false for another
// error.
func careRange(f *form, p *i18n.Printer, err error, fields map[string]string) bool {
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
		return quantity(p, v, out.Unit)
	}
	f.fail(field, key, logbook.Args{"Low": show(out.Low), "High": show(out.High)})
	return true
}

// careNumber reads a number that must be there.
func careNumber(f *form, field string) float64 {
	v := f.number(field)
	if !v.OK && !f.has(field) {
		f.fail(field, "number.not", nil)
	}
	return v.V
}

// careTemperature reads a temperature that must be there.
func careTemperature(f *form, field string, def units.TemperatureUnit) units.Celsius {
	v, _, _ := f.temperature(field, def)
	if !v.OK && !f.has(field) {
		f.fail(field, "number.not", nil)
	}
	return v.V
}

// careMoment reads a day and a time of day on the wall of a site.
func careMoment(f *form, day, clock string, loc *time.Location) time.Time {
	d := f.date(day)
	if d.IsZero() && !f.has(day) {
		f.fail(day, "date.empty", nil)
	}
	c, err := time.Parse("15:04", f.text(clock))
	if err != nil {
		f.fail(clock, "check.time", nil)
	}
	if f.has(day) || f.has(clock) {
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
