package report

import (
	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// SampleLine is a sample with what follows from it.
type SampleLine struct {
	Sample    logbook.Sample
	Mean      units.Grams
	Low, High units.Grams // of the mean, eight cases in ten
	Length    units.Optional[units.Millimetres]
	Condition units.Optional[float64]
	// Growth since the sample before; absent for the first one.
	Growth units.Optional[biology.Rate]
	Days   int // since the sample before
}

func weighing(m *logbook.Sample) biology.Weighing {
	return biology.Weighing{Fish: m.Count, Mean: m.Mean(), Each: m.Weights}
}

// SamplesOf lists the samples of a season up to a day, oldest first.
func SamplesOf(s *logbook.Season, today civil.Date) []SampleLine {
	var out []SampleLine
	for i := range s.Samples {
		m := &s.Samples[i]
		if m.On.After(today) {
			continue
		}
		x := SampleLine{Sample: *m, Mean: m.Mean(), Condition: conditionOf(m)}
		x.Low, x.High = weighing(m).Range80()
		if n := len(m.Lengths); n > 0 {
			var sum units.Millimetres
			for _, l := range m.Lengths {
				sum += l
			}
			x.Length = units.Some(sum / units.Millimetres(n))
		}
		if before := s.SampleBefore(m.On, m.ID); before != nil {
			x.Days = m.On.Sub(before.On)
			// years apart: no rate
			if rate, err := biology.GrowthRate(weighing(before), weighing(m), x.Days); err == nil {
				x.Growth = units.Some(rate)
			}
		}
		out = append(out, x)
	}
	return out
}

func conditionOf(m *logbook.Sample) units.Optional[float64] {
	if k, err := biology.SampleCondition(m.Mean(), m.Lengths); err == nil {
		return units.Some(k)
	}
	return units.None[float64]() // not measured, or refused for its own reason
}

// SampleContextOf is what a sample of a season is judged in, seen on a day.
func SampleContextOf(s *logbook.Season, m *logbook.Sample, today civil.Date, f *forecast.Result) logbook.SampleContext {
	ctx := logbook.SampleContext{Season: s, Today: today, Condition: conditionOf(m),
		ConditionLow: biology.UsualConditionLow, ConditionHigh: biology.UsualConditionHigh}
	before := s.SampleBefore(m.On, m.ID)
	if before == nil || m.On.After(today) || m.On.Sub(before.On) > 366 {
		return ctx
	}
	k := feeder{s: s, today: today, temperatures: dayTemperatures(f)}
	most, err := biology.MostAfter(weighing(before), k.daily(before.On.AddDays(1), m.On), m.Count)
	if err == nil { // a weight outside the growth models is not judged by them
		ctx.Most = units.Some(most)
	}
	return ctx
}
