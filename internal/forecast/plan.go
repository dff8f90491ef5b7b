package forecast

import (
	"math"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Range is a range of water temperature that is safe for a stage.
type Range struct{ Min, Max units.Celsius }

func (r Range) clamp(c units.Celsius) units.Celsius { return min(max(c, r.Min), r.Max) }

// PlanInput asks for the setpoint that brings half of the fry to swim-up by a day.
type PlanInput struct {
	Species logbook.Species
	On      civil.Date // today
	// Index is the development index when On begins.
	Index float64
	// Done and Needed are the sum to swim-up and where its middle lies, as in
	// Result; when absent they follow from Index by the species' models.
	Done, Needed units.Optional[float64]
	// LotFactor is the factor on the days to hatch, as in LotFactor.Factor; 0
	// means 1.
	LotFactor float64
	By        civil.Date
	Now       units.Celsius // of the water
	Eggs      Range         // safe before hatch
	Alevins   Range         // safe from hatch to swim-up
	MaxStep   units.CelsiusDelta
	// Closed are days on which nobody changes a setpoint; may be nil.
	Closed func(civil.Date) bool
}

// PlanStep is a setpoint to set on a day.
type PlanStep struct {
	On       civil.Date
	Setpoint units.Celsius
}

// PlanDay is one day of a plan: what the water should be, and the index at its end.
type PlanDay struct {
	On          civil.Date
	Temperature units.Celsius
	Index       float64
}

// PlanResult is a plan. When Reachable is false the plan is the fastest safe one
// and Earliest the nearest possible date.
type PlanResult struct {
	Setpoint  units.Celsius // where the water ends up
	Steps     []PlanStep    // one per day of change; empty when nothing need change
	Days      []PlanDay
	P50       civil.Date // middle date of swim-up with this plan
	Earliest  civil.Date // at the warmest safe setpoint
	Latest    civil.Date // at the coolest; zero when never
	Unchanged civil.Date // if the water stays as it is; zero when never
	Reachable bool
	// DaysPerHalfDegree is by how many days half a degree more brings swim-up
	// forward (at the warm limit: half a degree less puts it back).
	DaysPerHalfDegree float64
}

// setpointGrid is the step in which setpoints are tried: chillers are set to a
// tenth of a degree.
const setpointGrid = 0.1

// maxPlanStep is the largest change per day that is planned with: all of the range
// that fish live in. More is a typing mistake.
const maxPlanStep units.CelsiusDelta = 20

// Plan finds the coolest setpoint, to a tenth of a degree, that reaches swim-up by
// in.By. Each setpoint is held inside the safe range of the stage, so that a plan
// may change once more at hatch, and is approached by at most MaxStep a day on
// days that are not closed. The day in.On itself stays as it is. Errors are
// *logbook.Error of kind Invalid.
func Plan(in PlanInput) (PlanResult, error) {
	p, err := newPlanner(in)
	if err != nil {
		return PlanResult{}, err
	}
	lo := min(in.Eggs.Min, in.Alevins.Min)
	hi := max(in.Eggs.Max, in.Alevins.Max)
	var out PlanResult
	out.Earliest = p.date(p.run(hi, nil))
	out.Latest = p.date(p.run(lo, nil))
	out.Unchanged = p.date(p.steady())
	out.Reachable = !out.Earliest.IsZero() && !out.Earliest.After(in.By)
	out.Setpoint = hi
	if out.Reachable {
		for n := math.Ceil(float64(lo)/setpointGrid - 1e-9); ; n++ {
			c := units.Celsius(math.Round(n) / 10)
			if c >= hi {
				break
			}
			if d := p.date(p.run(c, nil)); !d.IsZero() && !d.After(in.By) {
				out.Setpoint = c
				break
			}
		}
	}
	t := p.run(out.Setpoint, &out)
	out.P50 = p.date(t)
	if out.Setpoint+0.5 <= hi {
		out.DaysPerHalfDegree = t - p.run(out.Setpoint+0.5, nil)
	} else if slower := p.run(out.Setpoint-0.5, nil); !math.IsInf(slower, 1) {
		out.DaysPerHalfDegree = slower - t
	}
	if !units.Finite(out.DaysPerHalfDegree) {
		out.DaysPerHalfDegree = 0
	}
	return out, nil
}

// planner runs a season ahead under one setpoint.
type planner struct {
	in           PlanInput
	dev          biology.Development
	ratio        float64
	done, needed float64
	hatch        float64 // index at which half are hatched
}

func newPlanner(in PlanInput) (*planner, error) {
	dev, bad := lookup(in.Species, nil)
	add := func(field, key string, args logbook.Args) {
		bad = append(bad, logbook.Problem{Field: field, Key: key, Args: args})
	}
	if in.On.IsZero() {
		add("on", "forecast.calc.start_on", nil)
	}
	if in.By.IsZero() || !in.By.After(in.On) {
		add("swim_up_by", "forecast.plan.by_after_today", logbook.Args{"On": in.On})
	}
	if !(in.Index >= 0 && in.Index <= 2) {
		add("development_index", "forecast.calc.index", nil)
	}
	bad = inWater(bad, "now_c", in.Now)
	ranges := []Range{in.Eggs, in.Alevins}
	if in.Eggs == in.Alevins {
		ranges = ranges[:1]
	}
	for _, r := range ranges {
		bad = inWater(bad, "min_c", r.Min)
		bad = inWater(bad, "max_c", r.Max)
		if r.Min > r.Max {
			add("max_c", "forecast.plan.range", logbook.Args{"Min": r.Min, "Max": r.Max})
		}
	}
	if !(in.MaxStep > 0 && in.MaxStep <= maxPlanStep) {
		add("max_step_c_per_day", "forecast.plan.step", logbook.Args{"Most": maxPlanStep})
	}
	if err := logbook.Refuse(bad); err != nil {
		return nil, err
	}
	p := &planner{in: in, dev: dev, hatch: in.LotFactor}
	if !(p.hatch > 0) || math.IsInf(p.hatch, 1) {
		p.hatch = 1
	}
	p.ratio, _ = dev.SwimUp.RatioTo(dev.Hatch)
	p.done, _ = swimUpAt(start{index: in.Index, mean: units.Some(max(in.Now, 0))}, 0, dev)
	if in.Done.OK {
		p.done = in.Done.V
	}
	p.needed = in.Needed.Or(1)
	if !units.Finite(p.needed) || !units.Finite(p.done) || p.done >= p.needed {
		return nil, logbook.Refuse([]logbook.Problem{{Field: "development_index", Key: "forecast.plan.already"}})
	}
	return p, nil
}

// date turns days after in.On into a date; zero when never.
func (p *planner) date(t float64) civil.Date {
	if !(t < neverDays) {
		return civil.Date{}
	}
	return p.in.On.AddDays(int(math.Floor(t + 0.5 + 1e-9)))
}

// steady is run for water that stays as it is, safe or not.
func (p *planner) steady() float64 {
	r := p.swimUpRate(p.in.Now)
	if r <= 0 {
		return math.Inf(1)
	}
	return (p.needed - p.done) / r
}

func (p *planner) swimUpRate(c units.Celsius) float64 {
	if p.ratio > 0 {
		r, _ := p.dev.Hatch.Rate(c)
		return r / p.ratio
	}
	r, _ := p.dev.SwimUpRate(c)
	return r
}

// run returns the days from in.On to swim-up under a setpoint, +Inf when never,
// and writes the plan into out when that is not nil.
func (p *planner) run(setpoint units.Celsius, out *PlanResult) float64 {
	x2, x3, c := p.in.Index, p.done, p.in.Now
	last, r2, r3 := units.Celsius(math.NaN()), 0.0, 0.0
	for i := range neverDays {
		stage := p.in.Eggs
		if x2 >= p.hatch {
			stage = p.in.Alevins
		}
		on := p.in.On.AddDays(i)
		if want := stage.clamp(setpoint); i > 0 && c != want && (p.in.Closed == nil || !p.in.Closed(on)) {
			step := units.Celsius(p.in.MaxStep)
			c += min(max(want-c, -step), step)
			if out != nil {
				out.Steps = append(out.Steps, PlanStep{On: on, Setpoint: c})
			}
		}
		if c != last {
			r2, _ = p.dev.Hatch.Rate(c)
			if r3 = r2 / p.ratio; p.ratio == 0 {
				r3, _ = p.dev.SwimUpRate(c)
			}
			last = c
		}
		if out != nil {
			out.Days = append(out.Days, PlanDay{On: on, Temperature: c, Index: x2 + r2})
		}
		if x3+r3 >= p.needed {
			return float64(i) + (p.needed-x3)/r3
		}
		x2, x3 = x2+r2, x3+r3
	}
	return math.Inf(1)
}

// PlanFrom fills a PlanInput from a forecast, so that the plan starts from what
// the season has shown.
func PlanFrom(s *logbook.Season, r *Result, by civil.Date, eggs, alevins Range, maxStep units.CelsiusDelta) PlanInput {
	in := PlanInput{Species: r.Species, On: r.Today, Index: r.StartIndex, Done: units.Some(r.SwimUpDone),
		Needed:    units.Some(r.SwimUpNeeded),
		LotFactor: r.Lot.Factor(), By: by, Eggs: eggs, Alevins: alevins, MaxStep: maxStep,
		Closed: func(d civil.Date) bool { return away(s, d) }}
	if d := r.DayOn(r.Today.AddDays(-1)); d != nil {
		in.Index = d.Index
	}
	if d := r.DayOn(r.Today); d != nil {
		in.Now = d.Temperature.V
	}
	if !r.Hatch.Observed.IsZero() || r.Hatch.BeforeStart {
		in.LotFactor = math.Min(in.LotFactor, math.Max(in.Index, 1e-9)) // hatched, whatever the sum says
	}
	return in
}

// Lag compares a plan with what the tank did. Days is how far the tank is behind
// the plan today (negative: ahead), and Beyond is true when that is more than the
// doubt of its index. ok is false when the plan does not hold the forecast's today.
func (p *PlanResult) Lag(r *Result) (days float64, beyond, ok bool) {
	if !r.Ok() || len(p.Days) < 2 {
		return 0, false, false
	}
	i := r.Today.Sub(p.Days[0].On)
	if i < 0 || i >= len(p.Days) {
		return 0, false, false
	}
	j := max(i, 1)
	rate := p.Days[j].Index - p.Days[j-1].Index
	if rate <= 0 {
		return 0, false, false
	}
	lag := p.Days[i].Index - r.Index
	return lag / rate, lag > z80*r.IndexSD, true
}

// z80 is the 90 % point of the standard normal.
const z80 = 1.2815515655446004
