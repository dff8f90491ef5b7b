package assess

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/forecast"
)

// RulerSeason is what the development ruler needs of a season beside its
// forecast. Zero dates are not known.
type RulerSeason struct {
	FertilisedOn           civil.Date
	ReleaseFrom, ReleaseBy civil.Date
}

// RulerPlaces are the places on the development ruler, from 0 (fertilisation) to
// 1 (its end), without any text. It is small, so it can be kept when the days of
// the forecast are not.
type RulerPlaces struct {
	Reason forecast.Message // why there is no ruler; Key "" when there is one
	Index  float64          // development index today

	FertilisedOn civil.Date // at place 0; zero when not known
	Start, Today RulerTick
	Marks        [3]RulerPlace // eyed, hatch, swim-up
	Months       []RulerTick   // first days of months
	Release      RulerSpan     // From.On is zero when no day is set
}

// RulerTick is a day and its place.
type RulerTick struct {
	X  float64
	On civil.Date
}

// RulerSpan is a stretch of days and its places.
type RulerSpan struct{ From, To RulerTick }

// MarkState says what is known of an event.
type MarkState int

// States of an event on the ruler.
const (
	MarkExpected MarkState = iota
	MarkSeen               // observed in this tank
	MarkBefore             // before the eggs arrived
	MarkNever              // the water is too cold for it
)

// RulerPlace is an event on the ruler: its mark, and where its window lies.
type RulerPlace struct {
	Event  forecast.Event
	X      float64
	State  MarkState
	Middle civil.Date
	Window RulerSpan // 10 % to 90 %, or the days between which it was seen
}

// The marks stand at the same places on every ruler: at the index of the event,
// swim-up in the middle of the 1.6 to 1.7 of published models.
const (
	eyedPlace   = 0.5
	hatchPlace  = 1.0
	swimUpPlace = 1.65
	rulerEnd    = 2.1
)

// PlaceRuler works out the places of a forecast. Between the marks the place
// follows the development index; the marks are where half of this lot is
// expected to be or was seen, so that today and the windows always agree.
func PlaceRuler(s RulerSeason, r *forecast.Result) RulerPlaces {
	if !r.Ok() || len(r.Days) == 0 {
		return RulerPlaces{Reason: forecast.Message{Key: r.Reason, Args: r.Args}}
	}
	sc := newRulerScale(s, r)
	out := RulerPlaces{Index: r.Index, FertilisedOn: s.FertilisedOn, Start: sc.tick(r.StartOn), Today: sc.tick(r.Today)}
	for i, e := range forecast.Events() {
		out.Marks[i] = sc.place(r.Window(e), [3]float64{eyedPlace, hatchPlace, swimUpPlace}[i]/rulerEnd)
	}
	if !s.ReleaseFrom.IsZero() && !s.ReleaseBy.IsZero() {
		out.Release = RulerSpan{sc.tick(s.ReleaseFrom), sc.tick(s.ReleaseBy)}
	}
	out.Months = sc.months()
	return out
}

// rulerScale turns a day into a place.
type rulerScale struct {
	r          *forecast.Result
	fertilised civil.Date
	knots      [][2]float64 // index, place on the index scale; both rising
}

func newRulerScale(s RulerSeason, r *forecast.Result) *rulerScale {
	sc := &rulerScale{r: r, fertilised: s.FertilisedOn, knots: [][2]float64{{0, 0}}}
	for i, place := range [3]float64{eyedPlace, hatchPlace, swimUpPlace} {
		w := r.Window(forecast.Events()[i])
		switch {
		case w.Ok():
			sc.knot(sc.index(w.P50), place)
		case w.BeforeStart:
			sc.knot(math.Min(place, r.StartIndex), place)
		}
	}
	return sc
}

// knot ties an index to a place; one that would not rise is left out.
func (sc *rulerScale) knot(index, place float64) {
	if last := sc.knots[len(sc.knots)-1]; index > last[0]+1e-6 && place > last[1] {
		sc.knots = append(sc.knots, [2]float64{index, place})
	}
}

// index is the development index at the end of a day. Before the record it runs
// evenly from fertilisation; after the forecast it goes on as on its last day.
func (sc *rulerScale) index(d civil.Date) float64 {
	if day := sc.r.DayOn(d); day != nil {
		return day.Index
	}
	days := sc.r.Days
	if d.Before(sc.r.StartOn) {
		span := float64(sc.r.StartOn.Sub(sc.fertilised))
		if sc.fertilised.IsZero() || span <= 0 {
			return sc.r.StartIndex
		}
		return sc.r.StartIndex * math.Max(0, float64(d.Sub(sc.fertilised))/span)
	}
	last := days[len(days)-1]
	rate := 0.0
	if len(days) > 1 {
		rate = last.Index - days[len(days)-2].Index
	}
	return last.Index + rate*float64(d.Sub(last.On))
}

// at is the place of a day, from 0 to 1.
func (sc *rulerScale) at(d civil.Date) float64 {
	x := sc.index(d)
	k := sc.knots
	i := 1
	for i < len(k) && x > k[i][0] {
		i++
	}
	var v float64
	if i < len(k) {
		v = k[i-1][1] + (x-k[i-1][0])/(k[i][0]-k[i-1][0])*(k[i][1]-k[i-1][1])
	} else {
		v = k[len(k)-1][1] + x - k[len(k)-1][0]
	}
	return math.Min(1, math.Max(0, v/rulerEnd))
}

func (sc *rulerScale) tick(d civil.Date) RulerTick { return RulerTick{X: sc.at(d), On: d} }

func (sc *rulerScale) place(w *forecast.Window, x float64) RulerPlace {
	m := RulerPlace{Event: w.Event, X: x, Middle: w.P50}
	switch {
	case !w.Observed.IsZero():
		m.State = MarkSeen
		m.Middle = w.Observed.OnOrBefore
	case w.BeforeStart:
		m.State = MarkBefore
	case w.Never || !w.Ok():
		m.State = MarkNever
	}
	if w.Ok() {
		m.Window = RulerSpan{sc.tick(w.P10), sc.tick(w.P90)}
	}
	return m
}

// months are the first days of months between fertilisation and the end.
func (sc *rulerScale) months() []RulerTick {
	from := sc.r.StartOn
	if !sc.fertilised.IsZero() {
		from = civil.Min(from, sc.fertilised)
	}
	y, m, _ := from.YMD()
	var out []RulerTick
	for range 24 {
		m++
		t := sc.tick(civil.Of(y, m, 1))
		if t.X >= 1 {
			break
		}
		out = append(out, t)
	}
	return out
}

// Passed reports whether an event lies behind.
func (m *RulerPlace) Passed() bool { return m.State == MarkSeen || m.State == MarkBefore }
