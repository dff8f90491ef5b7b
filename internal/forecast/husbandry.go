package forecast

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Husbandry rules; common practice, no source, unless said.
const (
	basketDays    = 14   // alevins stay in the basket at least so long after hatch
	basketShare   = 0.85 // of the alevin time, when the yolk is nearly gone (local choice)
	foodReadyDays = 7    // food in the school this long before the first may need it
	releaseWeeks  = 8    // of feeding, after which a classroom tank gets crowded (local choice)
)

// DueKind is something to do in a season.
type DueKind string

// Things to do, in order of time.
const (
	DueWatchHatch DueKind = "watch_hatch" // look every day from here
	DueBasket     DueKind = "open_basket"
	DueFoodReady  DueKind = "food_ready"
	DueFirstFood  DueKind = "first_food"
	DueRelease    DueKind = "release"
)

// MessageKey returns the catalogue key of the thing to do.
func (k DueKind) MessageKey() string { return "forecast.due." + string(k) }

// Due is a thing to do: not before From, most likely on Likely, by By. A date
// that is not known is zero.
type Due struct {
	Kind             DueKind
	From, Likely, By civil.Date
	Closed           []ClosedDay // of these dates
}

// ClosedDay is a date of a thing to do on which nobody is at school, with the
// nearest days before and after on which somebody is.
type ClosedDay struct {
	On            civil.Date
	Weekend       bool
	Reason        string // of the closed span, when it is one
	Before, After civil.Date
}

// Husbandry lists the things to do that follow from a forecast. What the season's
// events say was done is left out.
func Husbandry(s *logbook.Season, r *Result) []Due {
	if !r.Ok() {
		return nil
	}
	done := map[logbook.EventKind]bool{}
	for i := range s.Events {
		if !s.Events[i].On.After(r.Today) {
			done[s.Events[i].Kind] = true
		}
	}
	var out []Due
	add := func(d Due) {
		if d.From.IsZero() && d.Likely.IsZero() && d.By.IsZero() {
			return
		}
		for _, on := range []civil.Date{d.From, d.Likely, d.By} {
			if c, ok := closedOn(s, on); ok && (len(d.Closed) == 0 || d.Closed[len(d.Closed)-1].On != on) {
				d.Closed = append(d.Closed, c)
			}
		}
		out = append(out, d)
	}
	if h := &r.Hatch; h.Ok() && h.Observed.IsZero() {
		add(Due{Kind: DueWatchHatch, From: civil.Max(h.P10, r.Today), Likely: civil.Max(h.P50, r.Today),
			By: civil.Max(h.P90, r.Today)})
	}
	up := &r.SwimUp
	if s.Tank.HasBasket && !done[logbook.BasketOpened] && r.Hatch.Ok() && up.Ok() {
		add(basket(&r.Hatch, up))
	}
	if up.Ok() && !done[logbook.FirstFeed] {
		add(Due{Kind: DueFoodReady, By: civil.Max(up.P10.AddDays(-foodReadyDays), r.Today)})
		// Food opens when half hold themselves up: earlier it rots.
		from := up.P50
		if !r.FoodLikely.IsZero() {
			from = civil.Max(r.Today, civil.Min(from, r.FoodLikely))
		}
		add(Due{Kind: DueFirstFood, From: from, Likely: civil.Max(from, up.P50), By: civil.Max(from, up.P90)})
	}
	if up.Ok() && !done[logbook.Released] {
		add(release(s, up))
	}
	return out
}

// basket: at least two weeks after the last have hatched, and until the yolk is
// nearly gone.
func basket(h, up *Window) Due {
	open := func(hatched, swim civil.Date) civil.Date {
		yolk := hatched.AddDays(int(basketShare * float64(swim.Sub(hatched))))
		return civil.Max(hatched.AddDays(basketDays), yolk)
	}
	d := Due{Kind: DueBasket, From: open(h.P10, up.P10), Likely: open(h.P50, up.P50)}
	d.By = civil.Max(up.P90, d.Likely)
	return d
}

// release: fry swim and feed before they go, and the permit's days bind.
func release(s *logbook.Season, up *Window) Due {
	d := Due{Kind: DueRelease, From: up.P50, Likely: up.P90, By: up.P50.AddDays(7 * releaseWeeks)}
	if !up.Last.IsZero() {
		d.From = civil.Max(d.From, up.Last)
	}
	d.Likely = civil.Max(d.Likely, d.From)
	if !s.ReleaseFrom.IsZero() {
		d.From, d.Likely = civil.Max(d.From, s.ReleaseFrom), civil.Max(d.Likely, s.ReleaseFrom)
	}
	if !s.ReleaseBy.IsZero() {
		d.By = s.ReleaseBy
	}
	return d
}

// away reports whether nobody is at the tanks on a day: on closed days, and on
// weekends unless the school looks at its tanks then.
func away(s *logbook.Season, d civil.Date) bool {
	return !s.Site.LooksOn(d, false) || s.SchoolClosed(d)
}

func closedOn(s *logbook.Season, d civil.Date) (ClosedDay, bool) {
	if d.IsZero() || !away(s, d) {
		return ClosedDay{}, false
	}
	c := ClosedDay{On: d, Weekend: !s.Site.LooksOn(d, false)}
	for _, span := range s.ClosedDays {
		if !d.Before(span.From) && !d.After(span.To) {
			c.Reason = span.Reason
		}
	}
	const longest = 120 // days; a summer holiday
	for i := 1; i <= longest && (c.Before.IsZero() || c.After.IsZero()); i++ {
		if b := d.AddDays(-i); c.Before.IsZero() && !away(s, b) {
			c.Before = b
		}
		if a := d.AddDays(i); c.After.IsZero() && !away(s, a) {
			c.After = a
		}
	}
	return c, true
}
