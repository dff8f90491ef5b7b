package forecast

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// salmonDays is the default Atlantic salmon model written out by hand: Crisp 1981
// (constants from memory, see models.csv), swim-up 1.7 times (Crisp 1988, read).
func salmonDays(c float64) float64 { return math.Pow(10, 5.1908-2.6562*math.Log10(c+11)) }

// bruteDays steps day by day to an index of 1.7; it shares no code with the plan.
func bruteDays(index, now, want, step float64, closed func(int) bool) float64 {
	x, c := index, now
	for day := 0; day < 2000; day++ {
		if day > 0 && !closed(day) {
			if c < want {
				c = math.Min(want, c+step)
			} else {
				c = math.Max(want, c-step)
			}
		}
		r := 1 / salmonDays(c)
		if x+r >= 1.7 {
			return float64(day) + (1.7-x)/r
		}
		x += r
	}
	return math.Inf(1)
}

// A brute-force search over every setpoint of a hundredth of a degree agrees with
// the planner: same reach, dates to the day, setpoint to its tenth.
func TestPlanAgreesWithBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		index := rapid.Float64Range(0, 1.6).Draw(t, "index")
		now := rapid.Float64Range(2, 12).Draw(t, "now")
		lo := math.Round(rapid.Float64Range(2, 7).Draw(t, "lo")*10) / 10
		hi := math.Round(rapid.Float64Range(lo+0.5, 12).Draw(t, "hi")*10) / 10
		step := rapid.Float64Range(0.2, 2).Draw(t, "step")
		by := rapid.IntRange(1, 260).Draw(t, "by")
		weekday := rapid.IntRange(0, 6).Draw(t, "closed weekday")
		closed := func(d int) bool { return int(day0.AddDays(d).Weekday()) == weekday }
		in := PlanInput{Species: logbook.AtlanticSalmon, On: day0, Index: index, By: day0.AddDays(by),
			Now:  units.Celsius(now),
			Eggs: Range{units.Celsius(lo), units.Celsius(hi)}, MaxStep: units.CelsiusDelta(step),
			Closed: func(d civil.Date) bool { return int(d.Weekday()) == weekday }}
		in.Alevins = in.Eggs
		p, err := Plan(in)
		if err != nil {
			t.Fatal(err)
		}
		earliest, latest := bruteDays(index, now, hi, step, closed), bruteDays(index, now, lo, step, closed)
		if d := float64(p.Earliest.Sub(day0)); math.Abs(d-earliest) > 0.51 {
			t.Fatalf("earliest %v, brute force %v", d, earliest)
		}
		if d := float64(p.Latest.Sub(day0)); math.Abs(d-latest) > 0.51 {
			t.Fatalf("latest %v, brute force %v", d, latest)
		}
		if reach := math.Floor(earliest+0.5) <= float64(by); reach != p.Reachable &&
			math.Abs(earliest+0.5-math.Round(earliest+0.5)) > 1e-6 {
			t.Fatalf("reachable %v, brute force %v", p.Reachable, reach)
		}
		if !p.Reachable {
			if float64(p.Setpoint) != hi {
				t.Fatalf("out of reach, the plan must be the fastest: %v of %v", p.Setpoint, hi)
			}
			return
		}
		best := hi
		for c := lo; c <= hi; c += 0.01 {
			if math.Floor(bruteDays(index, now, c, step, closed)+0.5) <= float64(by) {
				best = c
				break
			}
		}
		if off := float64(p.Setpoint) - best; off < -0.011 || off > 0.111 {
			t.Fatalf("setpoint %v, brute force %v", p.Setpoint, best)
		}
		if p.P50.After(in.By) {
			t.Fatalf("planned for %v, wanted by %v", p.P50, in.By)
		}
		prev := units.Celsius(now)
		for i, s := range p.Steps {
			if d := math.Abs(float64(s.Setpoint - prev)); d > step+1e-9 || closed(s.On.Sub(day0)) ||
				(i > 0 && !s.On.After(p.Steps[i-1].On)) {
				t.Fatalf("step %d: %+v after %v", i, s, prev)
			}
			prev = s.Setpoint
		}
	})
}

// Eggs may stay at 6 to 8 C and alevins go to 10: a plan that needs it warms once
// more at hatch and never leaves the range of the stage.
func TestPlanChangesAtHatchWhenTheRangesDiffer(t *testing.T) {
	in := PlanInput{Species: logbook.AtlanticSalmon, On: day0, Index: 0.6, By: day0.AddDays(63), Now: 6,
		Eggs: Range{6, 8}, Alevins: Range{6, 10}, MaxStep: 0.5}
	p, err := Plan(in)
	if err != nil || !p.Reachable {
		t.Fatalf("%v %+v", err, p)
	}
	top := units.Celsius(0)
	for _, d := range p.Days {
		if d.Index < 1 && d.Temperature > 8+1e-9 {
			t.Errorf("%v: eggs at %v C", d.On, d.Temperature)
		}
		top = max(top, d.Temperature)
	}
	if top <= 8 {
		t.Errorf("the plan never uses the alevins' range: %v, %v", top, p.P50)
	}
}

func TestPlanRefusesWhatCannotBe(t *testing.T) {
	good := SetpointInput{Species: logbook.AtlanticSalmon, On: day0, DevelopmentIndex: 0.6, SwimUpBy: day0.AddDays(90),
		Now: 6, Min: 4, Max: 10, MaxStep: 1}
	if _, err := CalcSetpoint(good); err != nil {
		t.Fatal(err)
	}
	bad := []func(*SetpointInput){
		func(i *SetpointInput) { i.Species = "salmon" },
		func(i *SetpointInput) { i.SwimUpBy = day0 },
		func(i *SetpointInput) { i.On = civil.Date{} },
		func(i *SetpointInput) { i.DevelopmentIndex = math.NaN() },
		func(i *SetpointInput) { i.DevelopmentIndex = 1.8 },
		func(i *SetpointInput) { i.Min, i.Max = 10, 4 },
		func(i *SetpointInput) { i.MaxStep = 0 },
		func(i *SetpointInput) { i.Now = 45 },
		func(i *SetpointInput) { i.Max = units.Celsius(math.Inf(1)) },
	}
	for n, f := range bad {
		in := good
		f(&in)
		if _, err := CalcSetpoint(in); logbook.KindOf(err) != logbook.Invalid {
			t.Errorf("case %d: %v", n, err)
		}
	}
	in := good
	in.SwimUpBy = day0.AddDays(5)
	if p, err := CalcSetpoint(in); err != nil || p.Reachable || !p.Earliest.OK || p.Setpoint != 10 {
		t.Errorf("too soon must say the nearest date: %+v %v", p, err)
	}
}

func TestLagBehindThePlan(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 40, 6)
	r := Compute(Input{Season: s, Today: day0.AddDays(19)})
	p, err := Plan(PlanFrom(s, &r, day0.AddDays(120), Range{6, 8}, Range{6, 10}, 1))
	if err != nil || !p.Reachable || len(p.Steps) == 0 {
		t.Fatalf("%v %+v", err, p)
	}
	for _, step := range p.Steps {
		if away(s, step.On) {
			t.Errorf("nobody is there on %v", step.On)
		}
	}
	later := Compute(Input{Season: s, Today: day0.AddDays(39)}) // stayed at 6 C
	days, _, ok := p.Lag(&later)
	if !ok || days < 1 {
		t.Errorf("%v days behind, %v", days, ok)
	}
	if days, beyond, ok := p.Lag(&r); !ok || beyond || math.Abs(days) > 1e-6 {
		t.Errorf("on its first day nothing is behind: %v %v %v", days, beyond, ok)
	}
}

func BenchmarkPlan(b *testing.B) {
	in := PlanInput{Species: logbook.AtlanticSalmon, On: day0, Index: 0.3, By: day0.AddDays(100), Now: 4,
		Eggs: Range{2, 12}, Alevins: Range{2, 12}, MaxStep: 0.5}
	for b.Loop() {
		if _, err := Plan(in); err != nil {
			b.Fatal(err)
		}
	}
}
