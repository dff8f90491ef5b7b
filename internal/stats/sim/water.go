package sim

import (
	"math"
	"math/rand/v2"
	"slices"

	"reddside/internal/stats"
)

// Water is the assumed behaviour of a tank's temperature and thermometer. The
// daily temperature is a first-order autoregressive series about the setpoint,
// with correlation 0.2 to 0.8 and standard deviation 0.15 to 0.55 C by tank.
type Water struct {
	Step      float64 // readings are rounded to this, Celsius degrees
	DriftPerD float64 // warming per day from day EventDay on
	Stuck     bool    // the reading stays what it was from day EventDay on
	Slip      float64 // error of one reading, at EventDay's check (0 = none)
}

// waterDays is the length of a season, eventDay when the trouble begins.
const (
	waterDays  = 130
	eventDay   = 50
	readingSD  = 0.15
	setpoint   = 10.0
	missedDays = 0.05
)

// WaterScore is what the temperature rules did over many seasons.
type WaterScore struct {
	Seasons       int
	DriftEpisodes int // runs of drift flags, all of them false without an event
	StuckEpisodes int
	Prompts       int       // readings queried before the event
	DriftDelays   []float64 // days from the event to the first drift flag; +Inf for never
	StuckDelays   []float64
	SlipsAsked    int // slips that were queried
}

// MedianDelay returns the middle of the delays, days.
func MedianDelay(delays []float64) float64 {
	s := slices.Sorted(slices.Values(delays))
	return s[len(s)/2]
}

// RunWater draws n seasons and applies the temperature rules at every reading.
func RunWater(w Water, n int, seed uint64) WaterScore {
	rng := rand.New(rand.NewPCG(seed, 0x2545f4914f6cdd1d))
	score := WaterScore{Seasons: n}
	for range n {
		w.season(rng, &score)
	}
	return score
}

func (w Water) season(rng *rand.Rand, score *WaterScore) {
	rho, sd := 0.2+0.6*rng.Float64(), 0.15+0.4*rng.Float64()
	state := sd * rng.NormFloat64()
	weekday := rng.IntN(7)
	var s stats.Series
	lastDrift, lastStuck, slipped := -1-quiet, -1-quiet, false
	driftAt, stuckAt := math.Inf(1), math.Inf(1)
	for day := range waterDays {
		state = rho*state + sd*math.Sqrt(1-rho*rho)*rng.NormFloat64()
		if (weekday+day)%weekLen >= 5 || rng.Float64() < missedDays {
			continue
		}
		reading := setpoint + state + readingSD*rng.NormFloat64()
		reading += w.DriftPerD * math.Max(0, float64(day-eventDay))
		slip := w.Slip != 0 && day >= eventDay && !slipped
		if slip {
			reading += w.Slip
		}
		reading = math.Round(reading/w.Step) * w.Step
		if w.Stuck && day >= eventDay {
			reading = s.Celsius[len(s.Celsius)-1]
		}
		asked := stats.CheckMisread(s.Celsius, reading, w.Step).Ask
		if slip {
			slipped = true
			if asked {
				score.SlipsAsked++
			}
			return // what follows a slip depends on what people do
		}
		if asked {
			score.Prompts++
		}
		s.Days = append(s.Days, float64(day))
		s.Celsius = append(s.Celsius, reading)
		i := len(s.Days)
		if stats.LastDrift(s).Flagged {
			if i-lastDrift > quiet {
				score.DriftEpisodes++
			}
			lastDrift = i
			if day >= eventDay {
				driftAt = math.Min(driftAt, float64(day-eventDay))
			}
		}
		if stats.LastStuck(s.Celsius, w.Step).Flagged {
			if i-lastStuck > quiet {
				score.StuckEpisodes++
			}
			lastStuck = i
			if day >= eventDay {
				stuckAt = math.Min(stuckAt, float64(day-eventDay))
			}
		}
	}
	score.DriftDelays = append(score.DriftDelays, driftAt)
	score.StuckDelays = append(score.StuckDelays, stuckAt)
}
