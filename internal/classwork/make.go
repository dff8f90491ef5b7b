package classwork

import "reddside/internal/civil"

// freshDays is how old the days of a question may be.
const freshDays = 14

// Ask makes the question of a kind and level, and is false when the log of the
// tank does not hold what it needs.
func Ask(f Facts, kind Kind, level int) (Question, bool) {
	q := Question{Kind: kind, Level: level}
	if level < 1 || level > Levels {
		return q, false
	}
	ok := false
	switch kind {
	case Mean:
		ok = q.mean(f)
	case Rate:
		ok = q.rate(f)
	case Graph:
		ok = q.graph(f)
	case Change:
		ok = q.change(f)
	case Alive:
		ok = q.alive(f)
	case Tanks:
		ok = q.tanks(f)
	case Sum:
		ok = q.sum(f)
	}
	return q, ok
}

// last are the newest n days with a temperature, oldest first; nil when there
// are fewer of them in the last two weeks.
func last(days []Day, today civil.Date, n int) []Day {
	if len(days) < n || n < 1 {
		return nil
	}
	days = days[len(days)-n:]
	if today.Sub(days[0].On) > freshDays {
		return nil
	}
	return days
}

func (q *Question) mean(f Facts) bool {
	n := [Levels + 1]int{0, 3, 5, 7}[q.Level]
	if q.Days = last(f.Days, f.Today, n); q.Days == nil {
		return false
	}
	q.Answer.Sum, q.Answer.Tenths = SumOf(tenths(q.Days)), MeanOf(tenths(q.Days))
	return true
}

// rate asks when the next fifty is reached, at least two days ahead. At level 1
// a day is a whole number of units, at level 3 the rate has to be found first.
func (q *Question) rate(f Facts) bool {
	days := last(f.Days, f.Today, 5)
	if days == nil || f.Total < 1 {
		return false
	}
	q.PerDay = MeanOf(dayUnits(days))
	switch q.Level {
	case 1:
		q.PerDay = rounded(q.PerDay, 10) * 10
	case Levels:
		q.Days = days
		q.Answer.Sum = SumOf(dayUnits(days))
	}
	if q.PerDay < 10 {
		return false // next to nothing: nobody would wait for it
	}
	q.Total = f.Total
	q.Target = (q.Total+2*q.PerDay/10)/50*50 + 50
	q.Answer.Value = q.Target - q.Total
	q.Answer.Count = DaysUntil(q.Total, q.Target, q.PerDay)
	return true
}

// graph asks for the warmest or coldest day, for the days above a line, or for
// the distance between warmest and coldest.
func (q *Question) graph(f Facts) bool {
	for n := min(10, len(f.Days)); n >= 5 && q.Days == nil; n-- {
		q.Days = last(f.Days, f.Today, n)
	}
	if q.Days == nil {
		return false
	}
	low, high, lowAlone, highAlone := extremes(q.Days)
	switch q.Level {
	case 1:
		switch {
		case highAlone:
			q.Answer.On, q.Answer.Tenths, q.Answer.Sign = high.On, high.Tenths, 1
		case lowAlone:
			q.Answer.On, q.Answer.Tenths, q.Answer.Sign = low.On, low.Tenths, -1
		default:
			return false
		}
	case 2:
		line, ok := readableLine(q.Days)
		if !ok {
			return false
		}
		q.Line, q.Answer.Count = line, DaysAbove(q.Days, line)
	default:
		q.Answer.Value, q.Answer.Value2 = high.Tenths, low.Tenths
		q.Answer.Tenths, q.Answer.Sign = difference(low.Tenths, high.Tenths)
	}
	return true
}

// change compares the newest day with the one before it, with the fifth before
// it, or the mean of the last three days with the mean of the three before.
func (q *Question) change(f Facts) bool {
	n := [Levels + 1]int{0, 2, 6, 6}[q.Level]
	days := last(f.Days, f.Today, n)
	if days == nil {
		return false
	}
	var a, b int
	switch q.Level {
	case Levels:
		q.Days = days
		a, b = MeanOf(tenths(days[:3])), MeanOf(tenths(days[3:]))
	default:
		q.Days = []Day{days[0], days[n-1]}
		a, b = days[0].Tenths, days[n-1].Tenths
	}
	q.Answer.Value, q.Answer.Value2 = a, b
	q.Answer.Tenths, q.Answer.Sign = difference(a, b)
	return true
}

func (q *Question) alive(f Facts) bool {
	if f.Started < 2 || f.Alive < 1 || f.Alive > f.Started {
		return false
	}
	q.Whole, q.Part, q.Gone = f.Started, f.Alive, f.Started-f.Alive
	switch q.Level {
	case 1:
		if q.Gone == 0 {
			return false // no sum in it
		}
		q.Answer.Count = q.Part
	case 2:
		q.Answer.Count = InHundred(q.Part, q.Whole)
	default:
		q.Answer.Count, q.Answer.Of = Simplest(q.Part, q.Whole)
		if q.Answer.Of == q.Whole {
			return false // it is in its simplest form already
		}
	}
	return true
}

// tanks compares this tank with another on the newest day that both have, or the
// means of the newest three or five such days.
func (q *Question) tanks(f Facts) bool {
	n := [Levels + 1]int{0, 1, 3, 5}[q.Level]
	if f.OtherTank == "" {
		return false
	}
	at := map[civil.Date]Day{}
	for _, d := range f.Other {
		at[d.On] = d
	}
	var mine, theirs []Day
	for _, d := range f.Days {
		if o, ok := at[d.On]; ok {
			mine, theirs = append(mine, d), append(theirs, o)
		}
	}
	if q.Days = last(mine, f.Today, n); q.Days == nil {
		return false
	}
	q.OtherTank, q.Other = f.OtherTank, theirs[len(theirs)-n:]
	q.Answer.Value, q.Answer.Value2 = MeanOf(tenths(q.Days)), MeanOf(tenths(q.Other))
	q.Answer.Tenths, q.Answer.Sign = difference(q.Answer.Value2, q.Answer.Value)
	return true
}

// sum adds the thermal units of two days, of the newest day to those before it,
// or of five days.
func (q *Question) sum(f Facts) bool {
	n := [Levels + 1]int{0, 2, 1, 5}[q.Level]
	if q.Days = last(f.Days, f.Today, n); q.Days == nil {
		return false
	}
	q.Answer.Tenths = SumOf(dayUnits(q.Days))
	if q.Level == 2 {
		if f.Total < 1 {
			return false
		}
		q.Total = rounded(10*f.Total-q.Days[0].Units, 10)
		q.Answer.Tenths += 10 * q.Total
	}
	return q.Answer.Tenths > 0
}
