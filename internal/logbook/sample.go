package logbook

import (
	"reddside/internal/civil"
	"reddside/internal/units"
)

// Sample is fish that were weighed, and perhaps measured.
type Sample struct {
	ID       ID
	SeasonID ID
	On       civil.Date
	Count    int                 // fish weighed
	Total    units.Grams         // weight of all of them
	Weights  []units.Grams       // of each, when each was weighed; else empty
	Lengths  []units.Millimetres // of single fish, as many as were measured
	// Lost did not come back to the tank: they died or were kept. Absent when
	// nobody said, which the account takes as none.
	Lost      units.Optional[int]
	Note      string
	Observer  string
	Confirmed []string // fields whose surprising value was confirmed
	Entry
}

var sampleFields = []Field[Sample]{
	{Name: "on", access: date(func(m *Sample) *civil.Date { return &m.On }),
		Must: true, Column: "on_date", About: "day at the site", Term: dwc + "eventDate"},
	{Name: "count", access: plain(OfWhole, func(m *Sample) *int { return &m.Count }),
		Column: "weighed_count", Unit: "1", About: "fish weighed", Term: dwc + "individualCount"},
	{Name: "total_g", access: plain(OfNumber, func(m *Sample) *units.Grams { return &m.Total }),
		Unit: "g", About: "weight of all of them"},
	{Name: "weights_g", access: numbers(func(m *Sample) *[]units.Grams { return &m.Weights }),
		Unit: "g", About: "weight of each, in g"},
	{Name: "lengths_mm", access: numbers(func(m *Sample) *[]units.Millimetres { return &m.Lengths }), Unit: "mm",
		About: "lengths of single fish, in mm"},
	{Name: "lost", access: whole(func(m *Sample) *units.Optional[int] { return &m.Lost }),
		Column: "lost_count", Unit: "1", About: "did not come back to the tank"},
	{Name: "note", access: note(func(m *Sample) *string { return &m.Note }),
		Most: maxNote, About: "note", Term: dwc + "eventRemarks"},
	{Name: "observer", access: text(func(m *Sample) *string { return &m.Observer }),
		Most: maxName, About: "group or role; never a name"},
	{Name: "confirmed", access: confirmed(func(m *Sample) *[]string { return &m.Confirmed }), Kept: true,
		About: "fields whose surprising value was confirmed"},
}

// SampleFields are the fields of a sample in the order in which they are shown.
func SampleFields() []Field[Sample] { return sampleFields }

// Ranges of a sample. They keep typing errors out; they say nothing about fish.
const (
	MaxSampled    = 10_000
	MaxFishG      = units.Grams(10_000)
	MinFishG      = units.Grams(0.01)
	MinFishLength = units.Millimetres(10)
	MaxFishLength = units.Millimetres(1000)
)

// Mean is the mean weight of the fish; 0 when none were weighed.
func (m *Sample) Mean() units.Grams {
	if m.Count < 1 {
		return 0
	}
	return m.Total / units.Grams(m.Count)
}

// Returned is how many came back to the tank.
func (m *Sample) Returned() int { return m.Count - m.Lost.V }

// SampleContext is what a sample is judged in. What is usual for the fish is
// worked out by the caller; absent values are not judged.
type SampleContext struct {
	Season *Season
	Today  civil.Date
	// Condition is the condition factor of the sample, and ConditionLow and
	// ConditionHigh what is usual.
	Condition                   units.Optional[float64]
	ConditionLow, ConditionHigh float64
	// Most is the mean weight that fish of the sample before can have reached.
	Most units.Optional[units.Grams]
}

// SampleBefore returns the newest sample before day d that is not the one named,
// or nil.
func (s *Season) SampleBefore(d civil.Date, not ID) *Sample {
	for i := len(s.Samples) - 1; i >= 0; i-- {
		if m := &s.Samples[i]; m.On.Before(d) && (not == "" || m.ID != not) {
			return m
		}
	}
	return nil
}

// Validate returns what is wrong with the sample, and what is surprising.
func (m *Sample) Validate(ctx SampleContext) []Problem {
	v := sampleValidator{m: m, ctx: ctx}
	v.out = append(v.out, ctx.Season.validDay(m.On, ctx.Today)...)
	v.numbers()
	v.out = append(v.out, judge(m, sampleFields)...)
	if len(v.out) == 0 {
		v.surprises()
	}
	return v.out
}

type sampleValidator struct {
	m   *Sample
	ctx SampleContext
	out []Problem
}

func (v *sampleValidator) hard(field, key string, args Args) {
	v.out = append(v.out, Problem{Field: field, Key: key, Args: args})
}

func (v *sampleValidator) soft(field, key string, args Args) {
	v.out = append(v.out, Problem{Field: field, Key: key, Args: args, Soft: true})
}

func (v *sampleValidator) numbers() {
	m := v.m
	if m.Count < 1 || m.Count > MaxSampled {
		v.hard("count", "number.whole_between", Args{"Min": 1, "Max": MaxSampled})
		return
	}
	if !units.Finite(m.Total) || m.Mean() < MinFishG || m.Mean() > MaxFishG {
		v.hard("total_g", "sample.weight_between", Args{"Low": MinFishG, "High": MaxFishG})
	}
	for _, w := range m.Weights {
		if !units.Finite(w) || w < MinFishG || w > MaxFishG {
			v.hard("weights_g", "sample.weight_between", Args{"Low": MinFishG, "High": MaxFishG})
			break
		}
	}
	if n := len(m.Weights); n > 0 && n != m.Count {
		v.hard("weights_g", "sample.weights_count", Args{"N": n, "Fish": m.Count})
	} else if sum := m.sum(); n > 0 && (m.Total < sum*0.99 || m.Total > sum*1.01) {
		v.hard("total_g", "sample.weights_sum", Args{"Sum": sum, "Total": m.Total})
	}
	for _, l := range m.Lengths {
		if !units.Finite(l) || l < MinFishLength || l > MaxFishLength {
			v.hard("lengths_mm", "sample.length_between", Args{"Low": MinFishLength, "High": MaxFishLength})
			break
		}
	}
	if len(m.Lengths) > m.Count {
		v.hard("lengths_mm", "sample.lengths_count", Args{"N": len(m.Lengths), "Fish": m.Count})
	}
	if n, ok := m.Lost.Get(); ok && (n < 0 || n > m.Count) {
		v.hard("lost", "number.whole_between", Args{"Min": 0, "Max": m.Count})
	}
}

func (m *Sample) sum() units.Grams {
	var t units.Grams
	for _, w := range m.Weights {
		t += w
	}
	return t
}

// surprises asks about what can be, but seldom is.
func (v *sampleValidator) surprises() {
	m, s := v.m, v.ctx.Season
	alive := s.TotalsOn(m.On).Alive
	for i := range s.Samples { // a correction replaces its own earlier loss
		if s.Samples[i].ID == m.ID && !s.Samples[i].On.After(m.On) {
			alive += s.Samples[i].Lost.V
		}
	}
	if m.Count > alive {
		v.soft("count", "sample.more_than_alive", Args{"Fish": m.Count, "Alive": alive})
	}
	if before := s.SampleBefore(m.On, m.ID); before != nil {
		most, known := v.ctx.Most.Get()
		switch args := (Args{"Mean": m.Mean(), "Before": before.Mean(), "On": before.On, "Most": most}); {
		case m.Mean() < before.Mean()*0.95: // a kitchen scale and other fish: one part in twenty is nothing
			v.soft("total_g", "sample.fell", args)
		case known && m.Mean() > most:
			v.soft("total_g", "sample.jumped", args)
		}
	}
	if k, ok := v.ctx.Condition.Get(); ok && (k < v.ctx.ConditionLow || k > v.ctx.ConditionHigh) {
		v.soft("lengths_mm", "sample.condition", Args{"Value": k, "Low": v.ctx.ConditionLow,
			"High": v.ctx.ConditionHigh})
	}
}
