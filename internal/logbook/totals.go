package logbook

import (
	"iter"

	"reddside/internal/civil"
)

// Totals is the account of eggs and fish of a season up to a day:
//
//	delivered + moved in = alive + dead + moved out + sampled + released + unexplained
//
// Alive is what should be left by the log, or what was counted when all living
// fish were counted; then the gap appears as Unexplained and is never hidden.
// Alive is never negative: more removed than there were shows as a negative
// Unexplained.
type Totals struct {
	Delivered, MovedIn                int
	Alive                             int
	Dead, MovedOut, Sampled, Released int
	Unexplained                       int
	CountedOn                         civil.Date // of the last full count, zero when none
}

// TotalsOn adds up the season to the end of day d.
func (s *Season) TotalsOn(d civil.Date) Totals {
	t := s.sumsTo(d)
	if c := s.lastCount(d); c != nil {
		// What left or arrived after the count still applies to it.
		t.Unexplained = s.sumsTo(c.On).Alive - c.Count.V
		t.Alive -= t.Unexplained
		t.CountedOn = c.On
	}
	if t.Alive < 0 || (!s.ClosedOn.IsZero() && !d.Before(s.ClosedOn)) {
		t.Unexplained += t.Alive
		t.Alive = 0
	}
	return t
}

// sumsTo adds up the log to the end of day d; Alive is what it leaves.
func (s *Season) sumsTo(d civil.Date) Totals {
	var t Totals
	for i := range s.Deliveries {
		if !s.Deliveries[i].On.After(d) {
			t.Delivered += s.Deliveries[i].Count
		}
	}
	for i := range s.Checks {
		if s.Checks[i].On.After(d) {
			break
		}
		n, _ := s.Checks[i].Dead()
		t.Dead += n
	}
	for i := range s.Events {
		e := &s.Events[i]
		if e.On.After(d) {
			continue
		}
		switch e.Kind {
		case MovedIn:
			t.MovedIn += e.Count.V
		case MovedOut:
			t.MovedOut += e.Count.V
		case SampleTaken:
			t.Sampled += e.Count.V
		case Released:
			t.Released += e.Count.V
		}
	}
	for i := range s.Samples {
		if !s.Samples[i].On.After(d) {
			t.Sampled += s.Samples[i].Lost.V
		}
	}
	t.Alive = t.Delivered + t.MovedIn - t.Dead - t.MovedOut - t.Sampled - t.Released
	return t
}

// lastCount returns the last count of all living fish up to day d, or nil.
func (s *Season) lastCount(d civil.Date) *Event {
	for i := len(s.Events) - 1; i >= 0; i-- {
		if e := &s.Events[i]; e.Kind == Counted && e.Count.OK && !e.On.After(d) {
			return e
		}
	}
	return nil
}

// Balanced reports whether the account adds up; it always does by construction
// of Unexplained, and the store's verification relies on that.
func (t Totals) Balanced() bool {
	return t.Delivered+t.MovedIn == t.Alive+t.Dead+t.MovedOut+t.Sampled+t.Released+t.Unexplained
}

// DayCount is a number counted on a day.
type DayCount struct {
	On civil.Date `json:"on"`
	N  int        `json:"n"`
}

// DailyCounts are numbers day by day, as they were entered, oldest first. Today is
// the day of the reader, zero when the words are kept for later.
type DailyCounts struct {
	Today civil.Date `json:"today"`
	Days  []DayCount `json:"days"`
}

// Daily returns the reader's day, and each day with its number, newest first.
func (c DailyCounts) Daily() (today civil.Date, each iter.Seq2[civil.Date, int]) {
	return c.Today, func(yield func(civil.Date, int) bool) {
		for i := len(c.Days) - 1; i >= 0 && yield(c.Days[i].On, c.Days[i].N); i-- {
		}
	}
}

// DeadByDay returns the dead of each day from a day to another, both included, on
// which any were counted.
func (s *Season) DeadByDay(from, to civil.Date) DailyCounts {
	out := DailyCounts{Today: to}
	for i := range s.Checks {
		c := &s.Checks[i]
		dead, _ := c.Dead()
		if dead == 0 || c.On.Before(from) || c.On.After(to) {
			continue
		}
		if n := len(out.Days); n > 0 && out.Days[n-1].On == c.On {
			out.Days[n-1].N += dead
			continue
		}
		out.Days = append(out.Days, DayCount{On: c.On, N: dead})
	}
	return out
}
