package plan

import (
	"math"
	"net/http"
	"slices"
	"strconv"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

func typedInt(n int64) string { return strconv.FormatInt(n, 10) }

// nowWords says where development stands today.
func nowWords(p *i18n.Printer, f *forecast.Result) string {
	key := "tank.now"
	if !f.ThermalUnitsKnown {
		key = "tank.now_index"
	}
	return p.T(key, logbook.Args{"Index": p.Percent(f.Index), "Units": f.ThermalUnits, "On": f.Today})
}

// WindowWords writes a window: "between Thursday 4 and Tuesday 16 March, most
// likely the 9th". Over two months the middle names its own.
func WindowWords(p *i18n.Printer, from, middle, to civil.Date) string {
	if from == to {
		return p.T("window.day", logbook.Args{"On": p.DateWeekday(to)})
	}
	args := logbook.Args{"From": p.DateWeekday(from), "To": p.DateWeekday(to)}
	if sameMonth(from, to) {
		_, _, d := from.YMD()
		args["From"] = p.T("window.weekday_day", logbook.Args{"Weekday": from.Weekday(), "Day": strconv.Itoa(d)})
	}
	if sameMonth(from, to) && sameMonth(middle, to) {
		args["Middle"] = ordinal(p, middle)
		return p.T("window.between_nth", args)
	}
	args["Middle"] = p.DayMonth(middle)
	return p.T("window.between", args)
}

func sameMonth(a, b civil.Date) bool {
	ay, am, _ := a.YMD()
	by, bm, _ := b.YMD()
	return ay == by && am == bm
}

// ordinal writes the day of a month as the language does: 9th, 1er.
func ordinal(p *i18n.Printer, d civil.Date) string {
	_, _, n := d.YMD()
	key := "window.ordinal_th"
	switch n {
	case 1:
		key = "window.ordinal_1"
	case 21, 31:
		key = "window.ordinal_st"
	case 2, 22:
		key = "window.ordinal_nd"
	case 3, 23:
		key = "window.ordinal_rd"
	}
	return p.T(key, logbook.Args{"Day": strconv.Itoa(n)})
}

// eventForecastView writes one event with its parts of doubt.
func eventForecastView(p *i18n.Printer, f *forecast.Result, w *forecast.Window) EventForecast {
	e := EventForecast{ID: string(w.Event), Name: ui.EventName(p, w.Event)}
	args := logbook.Args{"First": p.DateWeekday(w.First), "Last": p.DateWeekday(w.Last), "Middle": p.DateWeekday(w.P50),
		"From": p.DateWeekday(w.P10)}
	expected := w.Ok() && w.Observed.IsZero() && !w.P90.Before(f.Today) && f.Dying == nil
	if !expected {
		e.When = words.EventWords(p, f, w)
	} else {
		e.When = p.T("forecast_page.expect."+string(w.Event), logbook.Args{"When": WindowWords(p, w.P10, w.P50, w.P90)})
		if w.Anchored {
			e.More = append(e.More, p.T("forecast_page.anchored", args))
		}
	}
	if expected && !w.Begun.IsZero() {
		e.More = append(e.More, p.T("forecast_page.begun", logbook.Args{"On": p.DateWeekday(w.Begun)}))
	}
	if expected && w.P10.Before(f.Today) {
		e.More = append(e.More, p.T("forecast_page.maybe"))
	}
	if w.Ok() && f.Dying == nil && !w.First.IsZero() && !w.Last.IsZero() {
		e.More = append(e.More, p.T("forecast_page.spread", args))
	}
	if !expected {
		return e
	}
	e.Doubt = p.T("forecast_page.doubt")
	for _, part := range w.Parts {
		share := int(math.Round(100 * part.Share))
		if share == 0 {
			continue
		}
		e.Parts = append(e.Parts, DoubtPart{Name: p.T(part.Kind.MessageKey()), Share: p.Percent(part.Share),
			Days: "± " + p.Num(part.Days, 1), Width: share})
	}
	return e
}

// learntWords says what a forecast has learnt and from which tank. A tank of
// another school has a name for a coordinator only.
func (s *Service) learntWords(r *http.Request, p *i18n.Printer, a assess.Result) ([]string, error) {
	f := &a.Forecast
	var out []string
	for i := range f.Lot.From {
		o := &f.Lot.From[i]
		name, err := s.tankName(r, p, a.Season, o)
		if err != nil {
			return nil, err
		}
		args := logbook.Args{"Tank": name, "Event": o.Event, "After": o.When.After, "By": o.When.OnOrBefore}
		key := "forecast_page.learnt_between"
		switch {
		case o.When.OnOrBefore.IsZero():
			key = "forecast_page.learnt_not_yet"
		case o.When.After.IsZero():
			key = "forecast_page.learnt_by"
		}
		if line := p.T(key, args); !slices.Contains(out, line) { // tanks without a name may say the same
			out = append(out, line)
		}
	}
	if f.Lot.Past > 0 {
		out = append(out, p.T("forecast.note.past_lots", logbook.Args{"Count": f.Lot.Past}))
	}
	if len(out) == 0 {
		return []string{p.T("forecast_page.learnt_nothing", logbook.Args{"Doubt": p.Percent(f.Lot.SD)})}, nil
	}
	pace := "forecast.note.lot_as_model"
	percent := int(math.Round(100 * (f.Lot.Factor() - 1)))
	if percent > 0 {
		pace = "forecast.note.lot_later"
	} else if percent < 0 {
		pace = "forecast.note.lot_earlier"
	}
	out = append(out, p.T(pace, logbook.Args{"Percent": max(percent, -percent)}))
	if before, now := p.Percent(f.Lot.PriorSD), p.Percent(f.Lot.SD); len(f.Lot.From) > 0 && before != now {
		out = append(out, p.T("forecast_page.learnt_doubt", logbook.Args{"Before": before, "Now": now}))
	}
	return out, nil
}

// tankName is the name of the tank of an observation, as far as the reader may
// see it.
func (s *Service) tankName(r *http.Request, p *i18n.Printer, season *logbook.Season, o *forecast.Observation) (string,
	error) {
	switch {
	case o.Season == season.ID:
		return p.T("forecast_page.this_tank"), nil
	case o.Site == season.Site.ID:
		return o.Tank, nil
	case !req.Of(r).Actor.MaySee(o.Site):
		return p.T("forecast_page.other_school"), nil
	}
	site, err := s.DB.Site(r.Context(), o.Site)
	return o.Tank + ", " + site.Name, err
}

// dueLine writes a thing to do with its dates and those on which nobody is at
// school.
func dueLine(p *i18n.Printer, cat *i18n.Catalogue, d forecast.Due) DueLine {
	date := func(on civil.Date) string {
		if on.IsZero() {
			return "–"
		}
		return p.DateWeekday(on)
	}
	out := DueLine{Name: p.T(d.Kind.MessageKey()), Earliest: date(d.From), Likely: date(d.Likely), Latest: date(d.By)}
	if why := d.Kind.MessageKey() + ".why"; cat.Has(why) {
		out.Why = p.T(why)
	}
	for _, c := range d.Closed {
		args := logbook.Args{"On": p.DateWeekday(c.On), "Reason": c.Reason, "Before": date(c.Before),
			"After": date(c.After)}
		key := "forecast_page.closed"
		switch {
		case c.Reason != "":
			key = "forecast_page.closed_reason"
		case c.Weekend:
			key = "forecast_page.closed_weekend"
		}
		out.Closed = append(out.Closed, p.T(key, args))
	}
	return out
}
