package forecast

import (
	"math"
	"sort"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// look is what one check says about an event: the share of the batch that has
// reached it lies between lo and hi.
type look struct {
	day       int // days after the record starts
	event     Event
	lo, hi    float64
	confirmed bool
	fed       bool // only the first feeding says so
}

// hatchedShare is what people mean by few, half, most; local choice.
func hatchedShare(h logbook.Hatched) (lo, hi float64, ok bool) {
	switch h {
	case logbook.HatchedNone:
		return 0, 0.05, true
	case logbook.HatchedFew:
		return 0.01, 0.35, true
	case logbook.HatchedHalf:
		return 0.35, 0.65, true
	case logbook.HatchedMost:
		return 0.65, 0.97, true
	case logbook.HatchedAll:
		return 0.97, 1, true
	}
	return 0, 1, false
}

// observations reads the checks up to today. The first feeding says that fry swim,
// where no check does.
func observations(s *logbook.Season, from, today civil.Date) []look {
	var all []look
	for i := range s.Checks {
		c := &s.Checks[i]
		if c.On.Before(from) || c.On.After(today) || (c.Hatched == "" && c.Stage == "") {
			continue
		}
		v := look{day: c.On.Sub(from)}
		for _, f := range c.Confirmed {
			v.confirmed = v.confirmed || f == "hatched" || f == "stage"
		}
		add := func(e Event, lo, hi float64) {
			v.event, v.lo, v.hi = e, lo, hi
			all = append(all, v)
		}
		lo, hi, told := hatchedShare(c.Hatched)
		if told {
			add(Hatch, lo, hi)
		}
		switch c.Stage {
		case logbook.GreenEgg:
			add(Eyed, 0, 0.5)
		case logbook.EyedEgg:
			add(Eyed, 0.5, 1)
			if !told {
				add(Hatch, 0, 0.5)
			}
		case logbook.Alevin:
			if !told {
				add(Hatch, 0.5, 1)
			}
			add(SwimUp, 0, 0.5)
		case logbook.Fry, logbook.Parr, logbook.Smolt:
			if !told {
				add(Hatch, 0.5, 1)
			}
			add(SwimUp, 0.5, 1)
		}
	}
	for i := range s.Events {
		if e := &s.Events[i]; e.Kind == logbook.FirstFeed && !e.On.Before(from) && !e.On.After(today) {
			all = append(all, look{day: e.On.Sub(from), event: SwimUp, lo: 0.5, hi: 1, fed: true})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].day < all[j].day })
	return all
}

// outOfSeason asks about hatching that was logged before the eggs came or after
// the season ended; such looks are left out.
func outOfSeason(s *logbook.Season, from civil.Date, r *Result) {
	for i := range s.Checks {
		c := &s.Checks[i]
		if c.Hatched == "" || c.Hatched == logbook.HatchedNone {
			continue
		}
		switch {
		case c.On.Before(from):
			r.Questions = append(r.Questions, Question{On: c.On, Key: "forecast.question.before_delivery",
				Args: logbook.Args{"On": c.On, "Delivered": from}})
		case !s.ClosedOn.IsZero() && c.On.After(s.ClosedOn):
			r.Questions = append(r.Questions, Question{On: c.On, Key: "forecast.question.after_end",
				Args: logbook.Args{"On": c.On, "Ended": s.ClosedOn}})
		}
	}
}

// checkedDays are the days, after the record starts, on which somebody made a
// check, in order of the checks.
func checkedDays(s *logbook.Season, from, today civil.Date) []int {
	out := make([]int, 0, len(s.Checks))
	for i := range s.Checks {
		if c := &s.Checks[i]; !c.On.Before(from) && !c.On.After(today) {
			out = append(out, c.On.Sub(from))
		}
	}
	sort.Ints(out)
	return out
}

// blankUntil is how sure a hatch must be before checks that say nothing of it no
// longer count as "not yet". Whoever sees nothing hatched does not write it down
// each day; but a log that is still silent then does not note hatching, and all its
// silence tells nothing. Local choice.
const blankUntil = 0.995

// notYet returns the sum at the last look that had not seen half of the batch reach
// an event; a day on which nobody looked tells nothing. Checks that say nothing of
// the event count as looks while none lies beyond the sum most.
func (d *doubts) notYet(looks []look, e Event, of func(*step) float64, most float64) float64 {
	last := 0 // the eggs came before it
	for _, v := range looks {
		if v.event == e && v.hi <= 0.5 {
			last = max(last, v.day)
		}
	}
	sum := func(day int) float64 {
		x := d.line.at(d.line.on(day))
		return of(&x)
	}
	if n := len(d.checked); n > 0 && sum(d.checked[n-1]) <= most {
		last = max(last, d.checked[n-1])
	}
	return sum(last)
}

// begun is the first day on which some, but not half, were seen to reach an event;
// -1 when none.
func begun(looks []look, e Event) int {
	for _, v := range looks {
		if v.event == e && v.lo > 0 {
			return v.day
		}
	}
	return -1
}

// told turns observations given by the caller into looks.
func told(seen []Seen, from civil.Date) []look {
	var all []look
	for _, v := range seen {
		if !v.After.IsZero() {
			all = append(all, look{day: v.After.Sub(from), event: v.Event, lo: 0, hi: 0.5})
		}
		if !v.OnOrBefore.IsZero() {
			all = append(all, look{day: v.OnOrBefore.Sub(from), event: v.Event, lo: 0.5, hi: 1})
		}
	}
	return all
}

// half returns between which days half of the batch was seen to reach an event:
// the last look before that said "less than half" (-1 when none) and the first
// that said "half or more" (-1 when none yet).
func half(looks []look, e Event) (before, seen int, confirmed bool) {
	before, seen = -1, -1
	for _, v := range looks {
		if v.event != e {
			continue
		}
		switch {
		case v.lo >= 0.35:
			if seen < 0 {
				seen, confirmed = v.day, v.confirmed
			}
		case v.hi <= 0.5 && seen < 0:
			before = v.day
		}
	}
	return before, seen, confirmed
}

// bounds returns between which values of the sum to half hatched the middle of
// the batch must lie, given what was seen of an event: a check that saw "few"
// says that the middle is still to come but not far. Infinite when unbounded.
func (d *doubts) bounds(looks []look, e Event) (low, high float64) {
	low, high = math.Inf(-1), math.Inf(1)
	spread := d.dev.BatchSD
	for _, v := range looks {
		if v.event != e {
			continue
		}
		x := d.line.at(float64(v.day) + 0.5).x2
		if v.hi < 1 {
			low = math.Max(low, x-spread*stats.NormalQuantile(v.hi))
		}
		if v.lo > 0 {
			high = math.Min(high, x-spread*stats.NormalQuantile(v.lo))
		}
	}
	if low > high {
		low, high = high, low
	}
	return low, high
}
