package report

import (
	"math"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// FeedState says what the food of today is about.
type FeedState string

// The states of feeding, in the order in which they are asked.
const (
	FeedOver    FeedState = "over"    // no fish in the tank
	FeedNever   FeedState = "never"   // the programme does not feed before release
	FeedNotYet  FeedState = "not_yet" // before swim-up
	FeedHeld    FeedState = "held"
	FeedOutside FeedState = "outside" // the table says nothing for this water or weight
	FeedCold    FeedState = "cold"    // too cold for the species to grow
	FeedNow     FeedState = "now"
)

// FeedSheet is the food of a season as of a day, with its working.
type FeedSheet struct {
	State FeedState
	Today FeedDay
	Hold  rules.FoodHold
	Meals int
	// Particle is the size of the food; its zero value when the table has none.
	Particle biology.Particle
	// Began is the first day with food in the log, zero when there is none.
	Began  civil.Date
	SwimUp forecast.Window
	// Weight is what the weight of today grew from.
	Weight WeightBase
	// Days are the last days from the first food on, oldest first, with today.
	Days []FeedDay
	// Loads are what food and fish ask of filter and tank: at the first food, or today
	// once they eat, and on the last day of release. Empty when the first food is not
	// known yet.
	Loads []Load
	// Table is the table in use.
	Table biology.FeedTable
}

// WeightBase is where the mean weight of today comes from.
type WeightBase struct {
	On        civil.Date
	Mean      units.Grams
	Low, High units.Grams // of eight cases in ten, or the range seen of an assumed weight
	Assumed   bool        // fry at first feeding of Atlantic salmon, as nobody weighed
	Event     logbook.EventKind
	Model     string // of growth since; "" when On is today
	Estimated int    // days since without a measured temperature
}

// FeedDay is one day: what was right, and what was given.
type FeedDay struct {
	On          civil.Date
	Alive       int
	Weight      units.Grams // mean
	Temperature units.Optional[units.Celsius]
	Estimated   bool // the temperature was not measured
	Percent     units.Optional[float64]
	Ration      units.Optional[units.Grams] // 0 on a day of hold; absent outside the table
	Fed         units.Optional[units.Grams] // absent when nobody wrote it down
	Held        rules.HoldReason
}

// Difference is fed less ration; absent when either is not known.
func (d FeedDay) Difference() units.Optional[units.Grams] {
	if !d.Fed.OK || !d.Ration.OK {
		return units.None[units.Grams]()
	}
	return units.Some(d.Fed.V - d.Ration.V)
}

// feedDays is how many days the log of food goes back.
const feedDays = 28

// FeedOf works out the food of a season as of a day.
func FeedOf(s *logbook.Season, today civil.Date, f *forecast.Result, a *rules.Assessment, p *rules.Profile) (FeedSheet,
	error) {
	table, err := biology.NewFeedTable()
	if err != nil {
		return FeedSheet{}, err
	}
	k := feeder{s: s, today: today, f: f, table: table, temperatures: dayTemperatures(f)}
	k.holds = rules.FoodHolds(rules.Input{Season: s, Today: today, Forecast: f, Profile: p})
	out := FeedSheet{Hold: a.Hold, SwimUp: f.SwimUp, Table: table, Began: k.began()}
	k.risen = k.risenOn(out.Began)
	out.Weight = k.base(today)
	if out.Today, err = k.day(today); err != nil {
		return out, err
	}
	if !k.risen.IsZero() {
		for d := civil.Max(k.risen, today.AddDays(1-feedDays)); !d.After(today); d = d.AddDays(1) {
			x, err := k.day(d)
			if err != nil {
				return out, err
			}
			out.Days = append(out.Days, x)
		}
		out.Meals = biology.Meals(today.Sub(k.risen))
	}
	out.State = k.state(&out, a, p)
	first := k.risen
	if first.IsZero() && out.State == FeedNotYet && f.SwimUp.Ok() {
		first = f.SwimUp.P50
	}
	out.Loads = k.loads(first)
	if out.Particle, err = table.ParticleSize(out.Today.Weight); err != nil {
		out.Particle = biology.Particle{} // too heavy for the table of particles
	}
	return out, nil
}

// feeder works the days of food out.
type feeder struct {
	s            *logbook.Season
	today        civil.Date
	f            *forecast.Result
	table        biology.FeedTable
	temperatures map[civil.Date]forecast.Day
	holds        []rules.FoodHold
	risen        civil.Date // when the fry began to need food, zero before
}

func dayTemperatures(f *forecast.Result) map[civil.Date]forecast.Day {
	out := make(map[civil.Date]forecast.Day, len(f.Days))
	for _, d := range f.Days {
		out[d.On] = d
	}
	return out
}

func (k *feeder) state(out *FeedSheet, a *rules.Assessment, p *rules.Profile) FeedState {
	expected, _ := p.Value(rules.FoodExpected, "", "")
	switch {
	case !a.Active:
		return FeedOver
	case k.risen.IsZero() && expected == 0:
		return FeedNever
	case k.risen.IsZero():
		return FeedNotYet
	case a.Hold.Held():
		return FeedHeld
	case expected == 0 && out.Began.IsZero():
		return FeedNever
	case k.tooCold(out.Today):
		return FeedCold
	case !out.Today.Ration.OK:
		return FeedOutside
	}
	return FeedNow
}

// GrowthFrom is the temperature below which the growth model of a species has no
// growth; absent for a species without a model of its own. The feed table, of
// rainbow trout, is not used below it.
func GrowthFrom(species logbook.Species) units.Optional[units.Celsius] {
	switch growthModel(species) {
	case growthSalmon:
		return units.Some(units.Celsius(biology.ElliottHurleySalmon().Lower))
	case growthTrout:
		return units.Some(units.Celsius(biology.ElliottTrout().Lower))
	}
	return units.None[units.Celsius]()
}

func (k *feeder) tooCold(d FeedDay) bool {
	from := GrowthFrom(k.s.Lot.Species)
	return from.OK && d.Temperature.OK && d.Temperature.V < from.V
}

// began is the first day with food in the log.
func (k *feeder) began() civil.Date {
	var first civil.Date
	note := func(d civil.Date) {
		if !d.After(k.today) && (first.IsZero() || d.Before(first)) {
			first = d
		}
	}
	for i := range k.s.Checks {
		if c := &k.s.Checks[i]; c.Fed.OK && c.Fed.V > 0 {
			note(c.On)
		}
	}
	for i := range k.s.Events {
		if e := &k.s.Events[i]; e.Kind == logbook.FirstFeed {
			note(e.On)
		}
	}
	return first
}

// risenOn is when the fry needed their first food: fry seen, else the first food
// of fry that should be up, else the middle of the window when it has passed.
func (k *feeder) risenOn(began civil.Date) civil.Date {
	for i := range k.s.Checks {
		if c := &k.s.Checks[i]; c.Stage.Order() >= logbook.Fry.Order() && !c.On.After(k.today) {
			if began.IsZero() || c.On.Before(began) {
				return c.On
			}
			return began
		}
	}
	w := &k.f.SwimUp
	switch {
	case !began.IsZero() && (!w.Ok() || !began.Before(w.P10)):
		return began
	case w.Ok() && !w.P50.After(k.today):
		return w.P50
	}
	return civil.Date{}
}

// base is the newest weight known up to a day, else an assumed one.
func (k *feeder) base(d civil.Date) WeightBase {
	var b WeightBase
	for i := range k.s.Samples {
		if m := &k.s.Samples[i]; !m.On.After(d) {
			low, high := weighing(m).Range80()
			b = WeightBase{On: m.On, Mean: m.Mean(), Low: low, High: high}
		}
	}
	for i := range k.s.Events {
		e := &k.s.Events[i]
		if e.MeanG.OK && e.MeanG.V > 0 && !e.On.After(d) && (b.On.IsZero() || e.On.After(b.On)) {
			low, high := biology.Weighing{Fish: max(1, min(e.Count.V, 25)), Mean: e.MeanG.V}.Range80()
			b = WeightBase{On: e.On, Mean: e.MeanG.V, Low: low, High: high, Event: e.Kind}
		}
	}
	if b.On.IsZero() {
		b = WeightBase{On: k.risen, Mean: biology.FirstFeedWeight, Low: biology.FirstFeedWeightLow,
			High: biology.FirstFeedWeightHigh, Assumed: true}
	}
	if b.On.Before(d) && !b.On.IsZero() {
		for on := b.On.AddDays(1); !on.After(d); on = on.AddDays(1) {
			if t, ok := k.temperatures[on]; !ok || t.Estimated {
				b.Estimated++
			}
		}
		b.Model = growthModel(k.s.Lot.Species)
	}
	return b
}

// Growth models by their ids. Species without one of their own take that of
// hatchery salmonids, which is an upper bound.
const (
	growthSalmon = "AS-G1"
	growthTrout  = "BT-G1"
	growthUpper  = "upper"
)

func growthModel(species logbook.Species) string {
	switch species {
	case logbook.AtlanticSalmon:
		return growthSalmon
	case logbook.BrownTrout:
		return growthTrout
	}
	return growthUpper
}

// weight is the mean weight on a day: the newest weight known and growth at full
// ration since.
func (k *feeder) weight(d civil.Date) (units.Grams, error) {
	b := k.base(d)
	if b.On.IsZero() || !b.On.Before(d) {
		return b.Mean, nil
	}
	daily := k.daily(b.On.AddDays(1), d)
	switch b.Model {
	case growthSalmon:
		return biology.ElliottHurleySalmon().WeightAfter(b.Mean, daily)
	case growthTrout:
		return biology.ElliottTrout().WeightAfter(b.Mean, daily)
	}
	return biology.IwamaTautzUpperBound(b.Mean, daily)
}

// daily are the temperatures of a stretch of days, both ends included, inside the
// range of the growth models. Days the forecast does not know take the day before.
func (k *feeder) daily(from, to civil.Date) []units.Celsius {
	var out []units.Celsius
	last := units.Celsius(0)
	for d := from; !d.After(to); d = d.AddDays(1) {
		if t, ok := k.temperatures[d]; ok && t.Temperature.OK {
			last = t.Temperature.V
		}
		out = append(out, units.Celsius(math.Min(math.Max(float64(last), biology.GrowthLowC), biology.GrowthHighC)))
	}
	return out
}

func (k *feeder) day(d civil.Date) (FeedDay, error) {
	x := FeedDay{On: d, Alive: k.s.TotalsOn(d).Alive}
	w, err := k.weight(d)
	if x.Weight = w; err != nil {
		x.Weight = k.base(d).Mean // outside the growth models: what was weighed
	}
	if t, ok := k.temperatures[d]; ok {
		x.Temperature, x.Estimated = t.Temperature, t.Estimated
	}
	for i := range k.s.Checks {
		if c := &k.s.Checks[i]; c.On == d && c.Fed.OK {
			x.Fed = units.Some(x.Fed.V + c.Fed.V)
		}
	}
	for _, h := range k.holds {
		if h.On(d) {
			x.Held, x.Ration = h.Reason, units.Some(units.Grams(0))
		}
	}
	if x.Held != "" || !x.Temperature.OK || k.tooCold(x) {
		return x, nil
	}
	if percent, err := k.table.Guide(x.Temperature.V, w); err == nil { // outside the table there is no ration
		x.Percent = units.Some(percent)
		g, err := biology.Ration(x.Alive, w, percent)
		if err != nil {
			return x, err
		}
		x.Ration = units.Some(g)
	}
	return x, nil
}
