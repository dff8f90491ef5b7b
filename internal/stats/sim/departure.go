package sim

import (
	"math"
	"math/rand/v2"

	"reddside/internal/stats"
)

// Trouble is what happens to the temperature of an invented tank, about day 43.
type Trouble struct {
	PerDay   float64 // warming, degrees a day
	Chiller  bool    // it dies: the water warms to the room, 20 C, with 36 h
	AnyHour  bool    // it dies at any hour before the next look, not right after the last
	Setpoint float64 // the setpoint is changed by this
	Recorded bool    // ... and somebody enters it
}

// Basin is a family of invented tanks: daily temperatures are a first-order
// autoregressive series about the setpoint, with correlation 0.2 to 0.8 and the
// spread given, drawn by tank; each reading adds an error of 0.15 C and is rounded.
// Weekends are not read, nor one weekday in twenty.
type Basin struct {
	Step      float64
	Low, High float64 // spread, degrees
	Offset    float64 // of the thermometer, up to this both ways
	Free      bool    // no setpoint is known
}

const (
	roomC         = 20.0
	chillerHours  = 36.0
	troubleFrom   = 40 // the first day on which it may begin; up to a week later
	lookedAtLeast = 20 // readings that the textbook sum learns from
)

// TempSeason is a season of readings; From is the first reading after the trouble
// began, -1 without one.
type TempSeason struct {
	Looks []stats.Look
	From  int

	// What no rule knows: correlation and spread of the tank, and the day on which the
	// trouble would begin.
	rho, sd float64
	begins  int
}

// TempAlarm says how urgent a rule calls each reading.
type TempAlarm func(TempSeason) []stats.DeadFlag

// Draw invents a season.
func (b Basin) Draw(rng *rand.Rand, t Trouble) TempSeason {
	rho, sd := 0.2+0.6*rng.Float64(), b.Low+(b.High-b.Low)*rng.Float64()
	offset := b.Offset * (2*rng.Float64() - 1)
	state, weekday := sd*rng.NormFloat64(), rng.IntN(7)
	begins, hours := troubleFrom+rng.IntN(7), 0.0
	s := TempSeason{From: -1, rho: rho, sd: sd, begins: begins}
	for day := range waterDays {
		state = rho*state + sd*math.Sqrt(1-rho*rho)*rng.NormFloat64()
		error := readingSD * rng.NormFloat64()
		if (weekday+day)%weekLen >= 5 || rng.Float64() < missedDays {
			continue
		}
		look := stats.Look{Day: float64(day), Want: setpoint, Eve: (weekday+day)%weekLen == 4}
		c := setpoint + offset + state + error
		if t != (Trouble{}) && day > begins {
			if s.From < 0 {
				s.From = len(s.Looks)
				if t.AnyHour {
					hours = 24 * rng.Float64()
				}
			}
			since := float64(day - begins)
			c += t.PerDay*since + t.Setpoint
			if t.Chiller {
				h := 24 * since
				if t.AnyHour {
					h = hours + 24*(float64(day)-s.began(day))
				}
				c += (roomC - setpoint) * (1 - math.Exp(-h/chillerHours))
			}
			if t.Recorded {
				look.Want += t.Setpoint
			}
		}
		look.Celsius = math.Round(c/b.Step) * b.Step
		if b.Free {
			look.Want = math.NaN()
		}
		s.Looks = append(s.Looks, look)
	}
	return s
}

// began is the day of the first reading after the trouble began, or day.
func (s TempSeason) began(day int) float64 {
	if s.From < len(s.Looks) {
		return s.Looks[s.From].Day
	}
	return float64(day)
}

// DepartureRule is the rule of package stats.
func DepartureRule(cfg stats.DepartureConfig) TempAlarm {
	return func(s TempSeason) []stats.DeadFlag {
		out := make([]stats.DeadFlag, len(s.Looks))
		for i, d := range stats.JudgeDepartures(cfg, s.Looks) {
			out[i] = d.Flag
		}
		return out
	}
}

func speaks(f func(s TempSeason, i int) bool) TempAlarm {
	return func(s TempSeason) []stats.DeadFlag {
		out := make([]stats.DeadFlag, len(s.Looks))
		for i := range out {
			if f(s, i) {
				out[i] = stats.DeadAct
			}
		}
		return out
	}
}

// FixedLimit speaks at so many degrees from the setpoint.
func FixedLimit(limit float64) TempAlarm {
	return speaks(func(s TempSeason, i int) bool { return math.Abs(s.Looks[i].Celsius-s.Looks[i].Want) >= limit-1e-9 })
}

// MovingMean compares the mean of the last five readings with those of two weeks
// before, stats.LastDrift.
func MovingMean() TempAlarm {
	return speaks(func(s TempSeason, i int) bool {
		var series stats.Series
		for _, l := range s.Looks[:i+1] {
			series.Days, series.Celsius = append(series.Days, l.Day), append(series.Celsius, l.Celsius)
		}
		return stats.LastDrift(series).Flagged
	})
}

// TextbookCUSUM is the tabular sum with reference 0.5 and limit 5 standard
// deviations, which come from the moving range of the first 20 readings. It starts
// anew after an alarm. Source: NIST/SEMATECH e-Handbook 6.3.2.3.
func TextbookCUSUM() TempAlarm {
	return func(s TempSeason) []stats.DeadFlag {
		out := make([]stats.DeadFlag, len(s.Looks))
		if len(s.Looks) < lookedAtLeast {
			return out
		}
		x := make([]float64, lookedAtLeast)
		for i := range x {
			x[i] = s.Looks[i].Celsius
		}
		_, sigma, err := stats.MovingRange(x)
		if err != nil || sigma == 0 {
			sigma = 0.1
		}
		high, low := 0.0, 0.0
		for i := lookedAtLeast; i < len(s.Looks); i++ {
			d := (s.Looks[i].Celsius - s.Looks[i].Want) / sigma
			high, low = math.Max(0, high+d-0.5), math.Max(0, low-d-0.5)
			if high > 5 || low > 5 {
				out[i], high, low = stats.DeadAct, 0, 0
			}
		}
		return out
	}
}

// TempScore is what a rule did over many seasons.
type TempScore struct {
	Seasons       int
	Watches, Acts int     // runs of readings with a watch or more, and with an act
	WatchBy       [20]int // seasons with a watch or more by reading 1, 2, ... of the trouble
	ActBy         [20]int
}

// PerSeason divides by the number of seasons.
func (s TempScore) PerSeason(n int) float64 { return float64(n) / float64(s.Seasons) }

func (s *TempScore) add(season TempSeason, flags []stats.DeadFlag) {
	s.Seasons++
	lastWatch, lastAct := -1-quiet, -1-quiet
	watch, act := false, false
	for i, f := range flags {
		if f >= stats.DeadWatch {
			if i-lastWatch > quiet {
				s.Watches++
			}
			lastWatch = i
		}
		if f == stats.DeadAct {
			if i-lastAct > quiet {
				s.Acts++
			}
			lastAct = i
		}
		k := i - season.From
		if season.From < 0 || k < 0 || k >= len(s.WatchBy) {
			continue
		}
		watch, act = watch || f >= stats.DeadWatch, act || f == stats.DeadAct
		if watch {
			s.WatchBy[k]++
		}
		if act {
			s.ActBy[k]++
		}
	}
}

// RunTemperature draws n seasons with a fixed seed and scores each rule on them.
func RunTemperature(b Basin, t Trouble, n int, seed uint64, rules []TempAlarm) []TempScore {
	rng := rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15))
	out := make([]TempScore, len(rules))
	for range n {
		s := b.Draw(rng, t)
		for i, rule := range rules {
			out[i].add(s, rule(s))
		}
	}
	return out
}
