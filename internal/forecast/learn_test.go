package forecast

import (
	"math"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// simpson integrates independently of the program's grid: composite Simpson over
// the log factor itself, 4,000 panels, with the interval's chance written through
// the cumulative normal of math.Erf.
func simpson(mean, sd float64, obs []Observation) (m, s float64) {
	cdf := func(x float64) float64 { return (1 + math.Erf(x/math.Sqrt2)) / 2 }
	f := func(u float64) float64 {
		p := math.Exp(-(u-mean)*(u-mean)/(2*sd*sd)) / sd
		for _, o := range obs {
			p *= cdf((o.High-u)/o.Tau) - cdf((o.Low-u)/o.Tau)
		}
		return p
	}
	const n = 8000
	lo, hi := mean-7*sd, mean+7*sd
	h := (hi - lo) / n
	var w [3]float64
	for i := 0; i <= n; i++ {
		u := lo + float64(i)*h
		c := 2.0
		if i%2 == 1 {
			c = 4
		}
		if i == 0 || i == n {
			c = 1
		}
		p := c * f(u)
		w[0] += p
		w[1] += p * u
		w[2] += p * u * u
	}
	m = w[1] / w[0]
	return m, math.Sqrt(w[2]/w[0] - m*m)
}

func TestPosteriorAgreesWithIndependentIntegration(t *testing.T) {
	inf := math.Inf(1)
	cases := [][]Observation{
		{{Low: 0.05, High: 0.07, Tau: 0.04}},
		{{Low: -0.02, High: inf, Tau: 0.05}},
		{{Low: math.Inf(-1), High: -0.05, Tau: 0.03}},
		{{Low: 0.05, High: 0.06, Tau: 0.04}, {Low: 0.01, High: 0.09, Tau: 0.05}, {Low: 0.03, High: inf, Tau: 0.02}},
		{{Low: 0.10, High: 0.11, Tau: 0.002}},
	}
	many := []Observation{}
	for i := range 30 {
		c := 0.04 + 0.01*math.Sin(float64(i))
		many = append(many, Observation{Low: c - 0.01, High: c + 0.01, Tau: 0.04})
	}
	cases = append(cases, many)
	for i, obs := range cases {
		m, s := posterior(0.01, 0.065, obs)
		wm, ws := simpson(0.01, 0.065, obs)
		if math.Abs(m-wm) > 0.02*ws || math.Abs(s-ws) > 0.02*ws {
			t.Errorf("case %d: mean %.6f sd %.6f, integration %.6f %.6f", i, m, s, wm, ws)
		}
	}
}

// A very narrow interval is a normal observation: then the posterior is the
// conjugate normal of any textbook.
func TestPosteriorOfANarrowIntervalIsConjugate(t *testing.T) {
	const prior, tau, y = 0.065, 0.045, 0.08
	m, s := posterior(0, prior, []Observation{{Low: y - 1e-5, High: y + 1e-5, Tau: tau}})
	v := 1 / (1/(prior*prior) + 1/(tau*tau))
	if math.Abs(m-v*y/(tau*tau)) > 1e-3*prior || math.Abs(s-math.Sqrt(v)) > 1e-3*prior {
		t.Errorf("mean %v sd %v, want %v %v", m, s, v*y/(tau*tau), math.Sqrt(v))
	}
}

func TestPastLotsMoveAndNarrowThePrior(t *testing.T) {
	none := prior(0.065, nil)
	alike := prior(0.065, []PastLot{{Mean: 0.07, SD: 0.02}, {Mean: 0.08, SD: 0.02}, {Mean: 0.075, SD: 0.02},
		{Mean: 0.07, SD: 0.02}})
	apart := prior(0.065, []PastLot{{Mean: -0.2, SD: 0.02}, {Mean: 0.2, SD: 0.02}, {Mean: 0.15, SD: 0.02},
		{Mean: -0.1, SD: 0.02}})
	if !(alike.PriorMean > 0.04 && alike.PriorMean < 0.075 && alike.PriorSD < none.PriorSD) {
		t.Errorf("lots that agree: %+v, nothing known: %+v", alike, none)
	}
	if !(apart.PriorSD > none.PriorSD) {
		t.Errorf("lots that differ must widen the prior: %+v", apart)
	}
	if bad := prior(0.065, []PastLot{{Mean: math.NaN(), SD: 0.1}, {Mean: 0.1, SD: 0}}); bad.Past != 0 ||
		bad.PriorSD != none.PriorSD {
		t.Errorf("%+v", bad)
	}
}

func TestPastLotOfCombinesTheTanksOfALot(t *testing.T) {
	one := Observation{Event: Hatch, Low: 0.06, High: 0.08, Tau: 0.04}
	a, ok := PastLotOf("A", []Observation{one})
	b, _ := PastLotOf("B", []Observation{one, one, one, one})
	if !ok || math.Abs(a.Mean-0.07) > 0.005 || math.Abs(b.SD-a.SD/2) > 0.002 {
		t.Errorf("%+v %+v", a, b)
	}
	if _, ok := PastLotOf("C", []Observation{{Event: Hatch, Low: 0, High: math.Inf(1), Tau: 0.1}}); ok {
		t.Error("a hatch that was not seen says nothing")
	}
}

// seen marks a check of the season.
func seen(s *logbook.Season, day int, h logbook.Hatched) {
	s.Checks[day].Hatched = h
}

func TestASiblingsHatchMovesAndNarrowsTheForecast(t *testing.T) {
	warm := steady(logbook.AtlanticSalmon, 90, 7)
	warm.ID, warm.Tank.Name = "warm", "Tank 1"
	for i := range 76 {
		seen(warm, i, logbook.HatchedNone)
	}
	seen(warm, 76, logbook.HatchedFew)
	seen(warm, 78, logbook.HatchedHalf)
	seen(warm, 81, logbook.HatchedAll)
	today := day0.AddDays(85)
	w := Compute(Input{Season: warm, Today: today})
	if got := w.Hatch.Observed; got.After != day0.AddDays(76) || got.OnOrBefore != day0.AddDays(78) {
		t.Fatalf("observed %+v", got)
	}
	cold := steady(logbook.AtlanticSalmon, 86, 4)
	alone := Compute(Input{Season: cold, Today: today})
	learnt := Compute(Input{Season: cold, Today: today, Siblings: w.Observations})
	// The warm tank hatched some 7 % after the model's 72 days.
	if f := learnt.Lot.Factor(); f < 1.02 || f > 1.09 || len(learnt.Lot.From) == 0 {
		t.Errorf("factor %v from %v", f, learnt.Lot.From)
	}
	if !learnt.Hatch.P50.After(alone.Hatch.P50) {
		t.Errorf("middle %v, alone %v", learnt.Hatch.P50, alone.Hatch.P50)
	}
	if a, b := alone.Hatch.P90.Sub(alone.Hatch.P10), learnt.Hatch.P90.Sub(learnt.Hatch.P10); b >= a {
		t.Errorf("window of %d days, alone %d", b, a)
	}
	// Its own observation does not count twice.
	again := Compute(Input{Season: warm, Today: today, Siblings: w.Observations})
	if again.Lot.Mean != w.Lot.Mean {
		t.Errorf("own observation counted twice: %v, %v", again.Lot.Mean, w.Lot.Mean)
	}
}

// The hatch of a sibling, whenever it was, never makes this tank's window start
// before today while nothing has hatched here.
func TestNothingHatchedHereIsNeverBeforeToday(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 130, 7)
	for i := range s.Checks {
		seen(s, i, logbook.HatchedNone)
	}
	for i := range 100 {
		today := day0.AddDays(20 + i)
		early := Observation{Season: "x", Event: Hatch, Low: -0.16, High: -0.14, Tau: 0.02}
		r := Compute(Input{Season: s, Today: today, Siblings: []Observation{early}})
		if r.Hatch.P10.Before(today) {
			t.Fatalf("day %d: window starts %v", 20+i, r.Hatch.P10)
		}
	}
}

func TestAContradictionIsAskedAbout(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 40, 5)
	seen(s, 20, logbook.HatchedNone)
	seen(s, 25, logbook.HatchedAll) // at a quarter of the way
	r := Compute(Input{Season: s, Today: day0.AddDays(39)})
	if len(r.Questions) != 1 || r.Questions[0].Key != "forecast.question.contradiction.hatch" || len(r.Lot.From) != 0 {
		t.Errorf("questions %+v, learnt from %+v", r.Questions, r.Lot.From)
	}
	if r.Hatch.Observed.IsZero() {
		t.Error("what was seen still stands for this tank")
	}
	s.Checks[25].Confirmed = []string{"hatched"}
	r = Compute(Input{Season: s, Today: day0.AddDays(39)})
	if len(r.Questions) != 0 || len(r.Lot.From) != 1 {
		t.Errorf("once confirmed it is learnt from: %+v", r.Questions)
	}
}

// Re-anchoring: published alevin time 0.7 of the days to hatch. At 6 C: 83.7 days, so
// 58.6 days after hatch; 0.7 of that is 41.0, a little less for the water's doubt.
func TestSwimUpIsCountedFromAnObservedHatch(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 95, 6)
	seen(s, 89, logbook.HatchedFew)
	seen(s, 90, logbook.HatchedHalf)
	r := Compute(Input{Season: s, Today: day0.AddDays(94), Future: units.Some(units.Celsius(6))})
	w := r.SwimUp
	if !w.Anchored || math.Abs(float64(w.P50.Sub(day0))-(90+58.6)) > 1 {
		t.Errorf("middle on day %d, want %v", w.P50.Sub(day0), 90+58.6)
	}
	if early := float64(w.P10.Sub(day0)) - 90; early > 41 || early < 36 {
		t.Errorf("watch from %v days after hatch, want a little under 41.0", early)
	}
}

// First feeding as observed (read rows): it lies in the swim-up window of a
// forecast made at the start, or, for rows given from hatch, at hatch.
func TestFirstFeedingRowsAreInsideTheirWindow(t *testing.T) {
	n := 0
	for _, o := range observationRows(t) {
		if o.species != "Atlantic salmon" || o.quality == "C" {
			continue
		}
		var s *logbook.Season
		today, from := day0, 0
		switch o.event {
		case "first_feeding":
			s = steady(logbook.AtlanticSalmon, 1, o.temp)
		case "hatch_to_first_feeding":
			from = int(math.Round(devOf(t).Hatch.Days(o.temp)))
			s = steady(logbook.AtlanticSalmon, from+1, o.temp)
			seen(s, from-1, logbook.HatchedFew)
			seen(s, from, logbook.HatchedHalf)
			today = day0.AddDays(from)
		default:
			continue
		}
		r := Compute(Input{Season: s, Today: today, Future: units.Some(o.temp)})
		day := day0.AddDays(from + int(math.Round(o.days)))
		if day.Before(r.SwimUp.P10) || day.After(r.SwimUp.P90) {
			t.Errorf("%s %s at %v C: seen %v, window %v to %v", o.study, o.event, o.temp, day, r.SwimUp.P10,
				r.SwimUp.P90)
		}
		n++
	}
	if n < 4 {
		t.Errorf("only %d rows", n)
	}
}

// Over the Atlantic salmon hatch rows of quality A and B, grouped by study, the
// 80 % window made at the start covers between 70 % and 95 %. A row's temperature
// is the mean of the whole time, so days ahead add no doubt here, and the error of
// the study's own thermometer is already in its days.
func TestCoverageOfHatchRowsByStudy(t *testing.T) {
	in, n := map[string]int{}, map[string]int{}
	set := DefaultSettings()
	set.DaySD, set.ThermometerBiasSD = 1e-9, 0
	for _, o := range observationRows(t) {
		if o.species != "Atlantic salmon" || o.event != "hatch50" || o.quality == "C" {
			continue
		}
		r := Compute(Input{Season: steady(logbook.AtlanticSalmon, 1, o.temp), Today: day0, Future: units.Some(o.temp),
			Settings: set})
		day := day0.AddDays(int(math.Round(o.days)))
		n[o.study]++
		if !day.Before(r.Hatch.P10) && !day.After(r.Hatch.P90) {
			in[o.study]++
		}
	}
	sum, rows, inside := 0.0, 0, 0
	for study := range n {
		t.Logf("%s: %d of %d", study, in[study], n[study])
		sum += float64(in[study]) / float64(n[study])
		rows, inside = rows+n[study], inside+in[study]
	}
	mean := sum / float64(len(n))
	t.Logf("mean over %d studies %.2f; rows %d of %d", len(n), mean, inside, rows)
	if mean < 0.70 || mean > 0.95 {
		t.Errorf("the 80 %% window covers %.2f", mean)
	}
}
