package forecast

import (
	"math"
	"math/rand/v2"
	"testing"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// invented is a lot and its tanks as they "really" are: drawn from the scatter of
// the literature, never from the program's windows.
type invented struct {
	rng    *rand.Rand
	dev    biology.Development
	factor float64 // log factor of the lot
	index  float64 // true state at delivery
	stated units.Optional[units.ThermalUnits]
}

// batchShare is the true share hatched when the sum is x and the middle is f.
func batchShare(x, f, sd float64) float64 { return 0.5 * math.Erfc((f-x)/sd/math.Sqrt2) }

// tank invents one tank: its setpoint, the true water (first-order wander about
// the setpoint, 0.5 C, 0.8 a day), a thermometer with a constant error of 0.3 C
// read to 0.1 C each morning but Saturday and Sunday, and what a class then sees.
// It returns the season as logged for n days and the true day of half hatched.
func (v *invented) tank(id string, setpoint float64, n int) (*logbook.Season, int) {
	s := &logbook.Season{ID: logbook.ID(id),
		Tank: logbook.Tank{Name: id, Setpoint: units.Some(units.Celsius(setpoint))},
		Lot:  logbook.Lot{Species: logbook.AtlanticSalmon},
		Deliveries: []logbook.Delivery{{On: day0, Count: 200, Stage: logbook.EyedEgg,
			ThermalUnits: v.stated, MeanTemperature: units.Some(units.Celsius(7))}}}
	f := math.Exp(v.factor + v.dev.ModelSD*v.rng.NormFloat64())
	bias := 0.3 * v.rng.NormFloat64()
	wander := 0.5 * v.rng.NormFloat64()
	x, hatched := v.index, -1
	for i := range n {
		wander = 0.8*wander + 0.5*math.Sqrt(1-0.64)*v.rng.NormFloat64()
		water := setpoint + wander
		rate, _ := v.dev.Hatch.Rate(units.Celsius(water))
		if on := day0.AddDays(i); on.Weekday() != 0 && on.Weekday() != 6 {
			c := logbook.Check{On: on, Slot: logbook.Morning,
				Temperature: units.Some(units.Celsius(math.Round(10*(water+bias)) / 10))}
			switch p := batchShare(x+rate/2, f, v.dev.BatchSD); {
			case p < 0.02:
				c.Hatched = logbook.HatchedNone
			case p < 0.35:
				c.Hatched = logbook.HatchedFew
			case p < 0.65:
				c.Hatched = logbook.HatchedHalf
			case p < 0.97:
				c.Hatched = logbook.HatchedMost
			default:
				c.Hatched = logbook.HatchedAll
			}
			s.Checks = append(s.Checks, c)
		}
		x += rate
		if x >= f && hatched < 0 {
			hatched = i
		}
	}
	return s, hatched
}

// upTo cuts a season to what was known on a day.
func upTo(s *logbook.Season, today civil.Date) *logbook.Season {
	c := *s
	n := 0
	for n < len(s.Checks) && !s.Checks[n].On.After(today) {
		n++
	}
	c.Checks = s.Checks[:n]
	return &c
}

func newInvented(rng *rand.Rand, dev biology.Development) *invented {
	v := &invented{rng: rng, dev: dev, factor: dev.LotSD * rng.NormFloat64(), index: 0.5 + 0.05*rng.Float64()}
	rate, _ := dev.Hatch.Rate(7)
	v.stated = units.Some(units.ThermalUnits(v.index/rate*7 + 10*rng.NormFloat64()))
	return v
}

// Learning is worth it: 500 invented lots, delivered eyed to two tanks at 4 and
// 7 C. When the warm tank has hatched, the cold tank's window is at least 40 %
// narrower than without that, and still covers 75 to 85 %.
func TestLearningFromTheWarmTank(t *testing.T) {
	dev := devOf(t)
	rng := rand.New(rand.NewPCG(20260115, 7))
	var before, after, moved float64
	coverBefore, coverAfter, n := 0, 0, 0
	for range 500 {
		v := newInvented(rng, dev)
		warm, hatchedWarm := v.tank("warm", 7, 140)
		cold, hatchedCold := v.tank("cold", 4, 240)
		if hatchedWarm < 0 || hatchedCold < 0 {
			t.Fatal("an invented tank never hatched")
		}
		// The first day on which the warm tank was seen half hatched.
		var today civil.Date
		for i := range warm.Checks {
			if h := warm.Checks[i].Hatched; h == logbook.HatchedHalf || h == logbook.HatchedMost ||
				h == logbook.HatchedAll {
				today = warm.Checks[i].On
				break
			}
		}
		w := Compute(Input{Season: upTo(warm, today), Today: today})
		known := upTo(cold, today)
		alone := Compute(Input{Season: known, Today: today})
		learnt := Compute(Input{Season: known, Today: today, Siblings: w.Observations})
		truth := day0.AddDays(hatchedCold)
		in := func(w *Window) int {
			if truth.Before(w.P10) || truth.After(w.P90) {
				return 0
			}
			return 1
		}
		before += float64(alone.Hatch.P90.Sub(alone.Hatch.P10))
		after += float64(learnt.Hatch.P90.Sub(learnt.Hatch.P10))
		moved += math.Abs(float64(learnt.Hatch.P50.Sub(truth))) - math.Abs(float64(alone.Hatch.P50.Sub(truth)))
		coverBefore += in(&alone.Hatch)
		coverAfter += in(&learnt.Hatch)
		n++
	}
	k := float64(n)
	narrower := 1 - after/before
	t.Logf("%d lots: window %.1f days alone (covers %.1f %%), %.1f days learnt (covers %.1f %%): %.0f %% narrower; error of the middle changes by %.1f days",
		n, before/k, 100*float64(coverBefore)/k, after/k, 100*float64(coverAfter)/k, 100*narrower, moved/k)
	if narrower < 0.40 {
		t.Errorf("only %.0f %% narrower", 100*narrower)
	}
	if c := float64(coverAfter) / k; c < 0.75 || c > 0.85 {
		t.Errorf("covers %.1f %%", 100*c)
	}
}

// Against the fixed sum of 500 thermal units, in days, eggs kept at one
// temperature from fertilisation: once with lots about the program's own model,
// once with lots about another published fit that it does not use (AS-H2), and
// once on the observed rows.
func TestAgainstAFixedSumOf500(t *testing.T) {
	dev := devOf(t)
	other, _ := biology.ModelByID("AS-H2")
	rng := rand.New(rand.NewPCG(20260115, 500))
	for _, c := range []units.Celsius{3, 5, 7, 9} {
		var own, fixed, own2, fixed2 float64
		const lots = 500
		for range lots {
			lot := math.Exp(dev.LotSD*rng.NormFloat64() + dev.ModelSD*rng.NormFloat64())
			own += math.Abs(dev.Hatch.Days(c) - dev.Hatch.Days(c)*lot)
			fixed += math.Abs(500/float64(c) - dev.Hatch.Days(c)*lot)
			own2 += math.Abs(dev.Hatch.Days(c) - other.Days(c)*lot)
			fixed2 += math.Abs(500/float64(c) - other.Days(c)*lot)
		}
		t.Logf("%v C, mean absolute error in days: lots about AS-H1: model %.1f, 500 units %.1f; lots about AS-H2: model %.1f, 500 units %.1f",
			c, own/lots, fixed/lots, own2/lots, fixed2/lots)
		if c == 3 && (own >= fixed || own2 >= fixed2) {
			t.Errorf("at %v C the model must beat the fixed sum", c)
		}
	}
	var own, fixed, ownMild, fixedMild float64
	n, mild := 0, 0
	for _, o := range observationRows(t) {
		if o.species == "Atlantic salmon" && o.event == "hatch50" && o.quality != "C" {
			own += math.Abs(dev.Hatch.Days(o.temp) - o.days)
			fixed += math.Abs(500/float64(o.temp) - o.days)
			n++
			if o.temp >= 3 {
				ownMild += math.Abs(dev.Hatch.Days(o.temp) - o.days)
				fixedMild += math.Abs(500/float64(o.temp) - o.days)
				mild++
			}
		}
	}
	t.Logf("%d observed rows from 3 C up: model %.1f days, 500 units %.1f days", mild, ownMild/float64(mild),
		fixedMild/float64(mild))
	t.Logf("%d observed rows: model %.1f days, 500 units %.1f days", n, own/float64(n), fixed/float64(n))
	if own >= fixed {
		t.Error("over the observed rows the model must beat the fixed sum")
	}
}
