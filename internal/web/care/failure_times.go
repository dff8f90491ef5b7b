package care

import (
	"errors"
	"math"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
)

// failureUrgent is the hours below which an answer is urgent; a local choice.
const failureUrgent = 4.0

// times answers when each limit of the stage is reached. The answer in one
// sentence is of the limit to act on that is reached first.
func (k *failure) times(now units.Celsius) (*ui.CareAnswer, ui.CarePart, error) {
	p, stage := k.p, k.Assessment.Stage.Stage
	part := ui.CarePart{ID: "times", Title: p.T("care_failure.times")}
	part.Lines = append(part.Lines, p.T("care_failure.now", logbook.Args{"Value": now, "At": k.clock(k.out.Now)}))
	table := &ui.DataTable{Caption: p.T("care_failure.times_caption")}
	for _, c := range []string{"limit", "when", "between"} {
		table.Columns = append(table.Columns, ui.DataColumn{Label: p.T("care_failure.col." + c)})
	}
	var first *report.Reach
	for _, l := range []rules.Limit{rules.TempWatchHigh, rules.TempActHigh, rules.TempWatchLow, rules.TempActLow} {
		low := l == rules.TempWatchLow || l == rules.TempActLow
		limit, ok := k.profile.Value(l, k.Season.Lot.Species, stage)
		if !ok || low && k.out.Room >= now {
			continue // a warm room never cools the tank
		}
		reach := k.out.Ceiling
		if low {
			reach = k.out.Floor
		}
		r, err := reach(units.Celsius(limit))
		if out, ok := errors.AsType[units.RangeError](err); ok && out.Quantity == "limit" {
			continue // no liquid tank reaches it
		} else if err != nil {
			return nil, part, err
		}
		if act := l == rules.TempActHigh || l == rules.TempActLow; act && (first == nil || r.Before(*first)) {
			first = &r
		}
		table.Rows = append(table.Rows, []string{p.T("care_failure.limit."+l.String(), logbook.Args{"Limit": r.Limit}),
			k.reached(r), k.between(r)})
	}
	part.Table = table
	if first == nil {
		return &ui.CareAnswer{Headline: p.T("care_failure.no_limit")}, part, nil
	}
	return k.headline(now, *first), part, nil
}

// headline is the answer in one sentence.
func (k *failure) headline(now units.Celsius, r report.Reach) *ui.CareAnswer {
	p := k.p
	h, ok := r.Hours.Get()
	args := logbook.Args{"Limit": r.Limit, "Now": now}
	if ok && h == 0 {
		return &ui.CareAnswer{Headline: p.T("care_failure.passed", args), Urgent: true}
	}
	if !ok && !r.First.OK {
		return &ui.CareAnswer{Headline: p.T("care_failure.never", args)}
	}
	if !ok {
		args["In"] = careHours(p, r.First.V)
		a := &ui.CareAnswer{Headline: p.T("care_failure.perhaps", args), Urgent: r.First.V < failureUrgent}
		if k.ended {
			a.Headline = p.T("care_failure.would_perhaps", args)
		}
		a.Lines = append(a.Lines, p.T("care_failure.never_doubt", args))
		return a
	}
	args["In"], args["At"] = careHours(p, h), k.clock(k.out.Now.Add(hoursOf(h)))
	a := &ui.CareAnswer{Headline: p.T("care_failure.reaches", args), Urgent: h < failureUrgent}
	if k.ended {
		a.Headline = p.T("care_failure.would_reach", args)
	}
	a.Lines = append(a.Lines, k.doubt(r))
	return a
}

func (k *failure) doubt(r report.Reach) string {
	args := logbook.Args{"First": careHours(k.p, r.First.V)}
	if !r.Last.OK {
		return k.p.T("care_failure.doubt_open", args)
	}
	args["Last"] = careHours(k.p, r.Last.V)
	return k.p.T("care_failure.doubt", args)
}

func (k *failure) reached(r report.Reach) string {
	h := r.Hours
	switch {
	case !h.OK && r.First.OK:
		return k.p.T("care_failure.perhaps_reached")
	case !h.OK:
		return k.p.T("care_failure.not_reached")
	case h.V == 0:
		return k.p.T("care_failure.already")
	}
	return k.p.T("care_failure.in_at", logbook.Args{"In": careHours(k.p, h.V),
		"At": k.clock(k.out.Now.Add(hoursOf(h.V)))})
}

func (k *failure) between(r report.Reach) string {
	if !r.First.OK || r.First.V == 0 && r.Hours.OK && r.Hours.V == 0 {
		return "–"
	}
	if !r.Last.OK {
		return k.p.T("care_failure.from_on", logbook.Args{"First": careHours(k.p, r.First.V)})
	}
	return k.p.T("care_failure.span", logbook.Args{"First": careHours(k.p, r.First.V),
		"Last": careHours(k.p, r.Last.V)})
}

// clock writes a moment: the time of day, with the day when it is another one.
func (k *failure) clock(t time.Time) string {
	t = t.Round(5 * time.Minute)
	if civil.In(t, k.loc) == k.Today {
		return k.p.Clock(t, k.loc)
	}
	return k.p.T("care.day_clock", logbook.Args{"On": k.p.DateWeekday(civil.In(t, k.loc)), "At": k.p.Clock(t, k.loc)})
}

func hoursOf(h float64) time.Duration {
	return time.Duration(math.Min(h, 24*3650) * float64(time.Hour))
}

// leftOut says that a part cannot be worked out, and for what it could.
func (k *failure) leftOut(out units.RangeError) string {
	show := func(v float64) string {
		if out.Unit == "Cel" {
			return k.p.Temp(units.Celsius(v))
		}
		return form.Quantity(k.p, v, out.Unit)
	}
	return k.p.T("care_failure.left_out", logbook.Args{"Low": show(out.Low), "High": show(out.High)})
}
