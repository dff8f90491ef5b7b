package plan

import (
	"net/http"
	"strings"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// forecastsOf makes the forecasts of the days on which guesses were made again,
// with what was known on each of them.
func (s *Service) forecastsOf(r *http.Request, season *logbook.Season) (map[civil.Date]forecast.Result, error) {
	out := map[civil.Date]forecast.Result{}
	for i := range season.Guesses {
		day := season.Guesses[i].MadeOn
		if _, done := out[day]; done {
			continue
		}
		known, err := s.Assess.EvidenceOn(r.Context(), season, func(*logbook.Season) civil.Date { return day })
		if err != nil {
			return nil, err
		}
		out[day] = known.Forecast(asOf(season, day), day)
	}
	return out, nil
}

// asOf is the season as a forecast of an earlier day saw it: changes of setpoint
// that lay ahead count only when they had been entered by then.
func asOf(season *logbook.Season, day civil.Date) *logbook.Season {
	s := *season
	loc := season.Site.Location()
	s.Events = nil
	for _, e := range season.Events {
		if !e.On.After(day) || !civil.In(e.ReceivedAt, loc).After(day) {
			s.Events = append(s.Events, e)
		}
	}
	if s.ClosedOn.After(day) {
		s.ClosedOn = civil.Date{}
	}
	return &s
}

// daysOff is how many days a day lies from those between which the hatch was
// seen: negative before, positive after, 0 inside.
func daysOff(d civil.Date, w *forecast.Window) int {
	switch {
	case d.Before(w.P10):
		return d.Sub(w.P10)
	case d.After(w.P90):
		return d.Sub(w.P90)
	}
	return 0
}

func offWords(p *i18n.Printer, n int) string {
	switch {
	case n < 0:
		return p.T("guess.early", logbook.Args{"Count": -n})
	case n > 0:
		return p.T("guess.late", logbook.Args{"Count": n})
	}
	return p.T("guess.right")
}

func guessRow(p *i18n.Printer, g *logbook.Guess, a *assess.Result, then map[civil.Date]forecast.Result,
	open bool) GuessRow {
	row := GuessRow{Group: g.Group, On: p.DateWeekday(g.On), MadeOn: p.DateShort(g.MadeOn),
		Mark: ui.EntryMark{Corrections: words.Corrections(g.Entry)}}
	if open {
		row.Correct = "/guesses/" + string(g.ID) + "/correct"
	}
	if then == nil {
		return row
	}
	row.Off = offWords(p, daysOff(g.On, &a.Forecast.Hatch))
	row.Forecast = p.T("guess.no_forecast")
	if f := then[g.MadeOn]; f.Ok() && f.Hatch.Ok() {
		row.Forecast = p.T("guess.forecast_was", logbook.Args{"Middle": p.DateShort(f.Hatch.P50),
			"From": p.DateShort(f.Hatch.P10),
			"To":   p.DateShort(f.Hatch.P90), "Off": offWords(p, daysOff(f.Hatch.P50, &a.Forecast.Hatch))})
	}
	return row
}

// guessResult says what happened and which groups were nearest.
func guessResult(p *i18n.Printer, season *logbook.Season, hatch *forecast.Window) []string {
	best := -1
	var nearest []string
	for i := range season.Guesses {
		g := &season.Guesses[i]
		off := daysOff(g.On, hatch)
		if off = max(off, -off); best < 0 || off < best {
			best, nearest = off, nil
		}
		if off == best {
			nearest = append(nearest, g.Group)
		}
	}
	seen := p.T("guess.happened_day", logbook.Args{"On": p.DateWeekday(hatch.P90)})
	if hatch.P10 != hatch.P90 {
		seen = p.T("guess.happened", logbook.Args{"From": p.DateWeekday(hatch.P10), "To": p.DateWeekday(hatch.P90)})
	}
	return []string{seen, p.T("guess.nearest", logbook.Args{"Groups": strings.Join(nearest, ", ")})}
}

// guessStripView places guesses, the forecasts of their days and the hatch on one
// line of days.
func guessStripView(p *i18n.Printer, season *logbook.Season, hatch *forecast.Window,
	then map[civil.Date]forecast.Result) *GuessStrip {
	from, to := hatch.P10, hatch.P90
	take := func(d civil.Date) { from, to = civil.Min(from, d), civil.Max(to, d) }
	for i := range season.Guesses {
		take(season.Guesses[i].On)
	}
	for _, f := range then {
		if f.Ok() && f.Hatch.Ok() {
			take(f.Hatch.P50)
		}
	}
	from, to = from.AddDays(-2), to.AddDays(2)
	days := float64(to.Sub(from))
	x := func(d civil.Date) float64 { return 100 * float64(d.Sub(from)) / days }
	out := &GuessStrip{Title: p.T("guess.strip"), From: p.DateShort(from), To: p.DateShort(to),
		Desc:  strings.Join(guessResult(p, season, hatch), " "),
		Hatch: StripSpan{X: x(hatch.P10.AddDays(-1)) + 50/days, Width: x(hatch.P90) - x(hatch.P10.AddDays(-1))}}
	row := map[civil.Date]int{}
	told := map[civil.Date]bool{}
	for i := range season.Guesses {
		g := &season.Guesses[i]
		out.Guesses = append(out.Guesses, StripMark{X: x(g.On), Row: row[g.On], Text: g.Group + ": " +
			p.DateShort(g.On)})
		row[g.On]++
		if f := then[g.MadeOn]; f.Ok() && f.Hatch.Ok() && !told[g.MadeOn] {
			told[g.MadeOn] = true
			out.Forecasts = append(out.Forecasts, StripMark{X: x(f.Hatch.P50),
				Text: p.T("guess.forecast_of", logbook.Args{"On": p.DateShort(g.MadeOn),
					"Middle": p.DateShort(f.Hatch.P50)})})
		}
	}
	return out
}
