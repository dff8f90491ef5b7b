package forecast

import (
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func TestHusbandryDates(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 100, 6)
	s.Tank.HasBasket = true
	seen(s, 85, logbook.HatchedFew)
	seen(s, 87, logbook.HatchedHalf)
	s.ReleaseBy = civil.MustParse("2026-05-31")
	s.ClosedDays = []logbook.ClosedSpan{{From: civil.MustParse("2026-02-09"), To: civil.MustParse("2026-02-27"),
		Reason: "Winter break"}}
	r := Compute(Input{Season: s, Today: day0.AddDays(99)})
	got := map[DueKind]Due{}
	for _, d := range Husbandry(s, &r) {
		got[d.Kind] = d
		for _, c := range d.Closed {
			if away(s, c.Before) || away(s, c.After) || !c.Before.Before(c.On) || !c.After.After(c.On) {
				t.Errorf("%s: %+v", d.Kind, c)
			}
		}
	}
	if _, ok := got[DueWatchHatch]; ok {
		t.Error("hatch was seen: nothing to watch for")
	}
	// Half hatched on day 86 or 87: the basket stays shut for two weeks at least.
	if b := got[DueBasket]; b.From.Sub(day0) < 86+14 || b.Likely.Before(b.From) || b.By.Before(b.Likely) {
		t.Errorf("basket %+v", b)
	}
	if f := got[DueFirstFood]; f.From != r.SwimUp.P50 || f.Likely != r.SwimUp.P50 {
		t.Errorf("food %+v", f)
	}
	if !got[DueFoodReady].By.Before(got[DueFirstFood].From) {
		t.Errorf("food is ready by %v, first needed %v", got[DueFoodReady].By, got[DueFirstFood].From)
	}
	if d := got[DueRelease]; d.By != s.ReleaseBy || d.From.Before(r.SwimUp.P50) {
		t.Errorf("release %+v", d)
	}
	holiday := false
	for _, d := range got {
		for _, c := range d.Closed {
			holiday = holiday || (c.Reason == "Winter break" && c.After == civil.MustParse("2026-03-02"))
		}
	}
	if !holiday {
		t.Error("a date in the winter break must say so, and Monday 2 March after it")
	}
	s.Events = []logbook.Event{{Kind: logbook.BasketOpened, On: day0.AddDays(99)}}
	for _, d := range Husbandry(s, &r) {
		if d.Kind == DueBasket {
			t.Error("the basket is open already")
		}
	}
}

// A chiller that drifts is mended: its trend widens the window less than the same
// trend in water that nobody cools, and still widens it.
func TestTrendOfAChilledTank(t *testing.T) {
	width := func(chiller bool, perDay float64) int {
		s := steady(logbook.AtlanticSalmon, 30, 6)
		s.Tank.HasChiller = chiller
		for i := range s.Checks {
			if from := i - 16; from > 0 {
				s.Checks[i].Temperature.V += units.Celsius(perDay * float64(from))
			}
		}
		w := Compute(Input{Season: s, Today: day0.AddDays(29)}).Hatch
		return w.P90.Sub(w.P10)
	}
	still, chilled, open := width(true, 0), width(true, 0.1), width(false, 0.1)
	if !(still < chilled && chilled < open) {
		t.Errorf("windows of %d days without a trend, %d chilled, %d open; want rising", still, chilled, open)
	}
}

// A school that looks at its tanks on weekends is there on a Saturday; one that
// says nothing, or leaves them alone, is not.
func TestWeekendsOfTheSchool(t *testing.T) {
	saturday := civil.MustParse("2026-02-07")
	for weekends, there := range map[logbook.Weekends]bool{"": false, logbook.WeekendsLeftAlone: false,
		logbook.WeekendsLookedAt: true} {
		s := steady(logbook.AtlanticSalmon, 100, 6)
		s.Site.Weekends = weekends
		if c, closed := closedOn(s, saturday); closed == there || closed &&
			(!c.Weekend || c.Before != saturday.AddDays(-1) || c.After != saturday.AddDays(2)) {
			t.Errorf("weekends %q: closed %v, %+v", weekends, closed, c)
		}
		if closed := PlanFrom(s, &Result{}, saturday, Range{}, Range{}, 1).Closed(saturday); closed == there {
			t.Errorf("weekends %q: the plan takes Saturday as closed: %v", weekends, closed)
		}
	}
}
