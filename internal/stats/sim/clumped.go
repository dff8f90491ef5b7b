package sim

import (
	"math"
	"math/rand/v2"

	"reddside/internal/stats"
)

// Batch is a second, independent world of dead counts, at 7 C: losses after the
// journey, of eggs, in the hatch week, of alevins and of fry, scattered as a
// negative binomial by day; weekends unread; the dead found in part, later looks
// finding the rest; stages seen up to three days late. All of it is assumed.
type Batch struct {
	LossLow, LossHigh float64    // of a season, drawn evenly on a logarithmic scale
	Split             [5]float64 // of the loss: journey, eggs, hatch week, alevins, fry
	Trouble           Outbreak
}

// Outbreak is what goes wrong; the zero value is nothing.
type Outbreak struct {
	Rate     float64 // share of the tank that dies on the first day
	Doubling float64 // days in which that doubles; 0 for steady
	Days     int     // how long it lasts
	Alevins  bool    // begins after the hatch, else among eggs
}

// Steady splits a season's loss as the world assumes.
func Steady() [5]float64 { return [5]float64{0.25, 0.15, 0.25, 0.15, 0.2} }

// BatchSeason is one invented season.
type BatchSeason struct {
	Eggs   int
	Checks []stats.DeadCheck
	On     []int // the day of each check
	First  int   // day of the first death by the outbreak; 0 for none
	Lost   []int // dead of the outbreak up to each day
	Hatch  int
}

const (
	hatchUnits  = 71.9  // days from fertilisation to half hatched at 7 C
	arriveAt    = 0.617 // of the way to hatch on delivery
	swimUpUnits = 0.68  // of hatchUnits from hatch to swim-up
	clumping    = 0.5
)

// Draw invents a season.
func (b Batch) Draw(rng *rand.Rand) BatchSeason {
	eggs, hatch, swim, end, mean := b.season(rng)
	ill := b.Trouble.deaths(rng, eggs, hatch, swim, end)
	alevinsSeen, frySeen := hatch+rng.IntN(4), swim+rng.IntN(4)

	s := BatchSeason{Eggs: eggs, Lost: make([]int, end+1), Hatch: hatch}
	cfg := stats.DefaultDeadConfig()
	alive, known, lying, lost, last, weekday := eggs, eggs, 0, 0, 0, rng.IntN(5)
	for day := 1; day <= end; day++ {
		dead := min(negativeBinomial(rng, mean[day])+ill[day], alive)
		if lost == 0 && min(ill[day], dead) > 0 {
			s.First = day
		}
		lost += min(ill[day], dead)
		alive, lying, s.Lost[day] = alive-dead, lying+dead, lost
		miss := 0.08
		if (weekday+day)%weekLen >= 5 {
			miss = 0.95
		}
		if rng.Float64() < miss {
			continue
		}
		found := 0
		for range lying {
			if rng.Float64() < 0.9 {
				found++
			}
		}
		lying -= found
		c := stats.DeadCheck{Days: day - last, AtRisk: max(known, found), Dead: found}
		for d := last + 1; d <= day; d++ {
			index := arriveAt + float64(d+1)/hatchUnits
			stretch := stretchOf(d, index, alevinsSeen, frySeen)
			c.Busy = c.Busy || stretch == stats.StageArrival || stretch == stats.StageHatching
			c.RateSum += math.Max(cfg.Rates[stretch], stats.RateFloor)
		}
		known, last = max(0, known-found), day
		s.Checks, s.On = append(s.Checks, c), append(s.On, day)
		if alive == 0 && lying == 0 {
			break
		}
	}
	return s
}

// season draws the number of eggs, the days of hatch and swim-up, the last day, and
// the mean of the usual dead by day.
func (b Batch) season(rng *rand.Rand) (eggs, hatch, swim, end int, mean []float64) {
	eggs = []int{100, 150, 200, 250}[rng.IntN(4)]
	loss := math.Exp(math.Log(b.LossLow) + rng.Float64()*(math.Log(b.LossHigh)-math.Log(b.LossLow)))
	hatch = max(8, int(math.Round((math.Exp(0.06*rng.NormFloat64())-arriveAt)*hatchUnits)))
	swim = hatch + int(math.Round(swimUpUnits*hatchUnits*math.Exp(0.08*rng.NormFloat64())))
	end = swim + 45
	return eggs, hatch, swim, end, b.means(float64(eggs)*loss, hatch, swim, end)
}

// means spreads the loss over the days.
func (b Batch) means(loss float64, hatch, swim, end int) []float64 {
	m := make([]float64, end+1)
	sum := 0.0
	for d := 1; d <= 5; d++ {
		sum += math.Exp(-float64(d) / 2)
	}
	for d := 1; d <= 5; d++ {
		m[d] += loss * b.Split[0] * math.Exp(-float64(d)/2) / sum
	}
	spread := func(from, to int, share, days float64) {
		for d := max(from, 1); d < to; d++ {
			m[d] += loss * share / days
		}
	}
	spread(6, max(hatch-2, 7), b.Split[1], math.Max(float64(hatch-8), 1))
	spread(hatch-2, hatch+5, b.Split[2], 7)
	spread(hatch+5, swim-3, b.Split[3], math.Max(float64(swim-hatch-8), 1))
	spread(swim+8, swim+24, b.Split[4], 16)
	return m
}

// deaths draws the dead of the outbreak by day.
func (o Outbreak) deaths(rng *rand.Rand, eggs, hatch, swim, end int) []int {
	out := make([]int, end+1)
	if o.Rate == 0 {
		return out
	}
	begins := o.begins(rng, hatch, swim)
	for t := 0; t < o.Days && begins+t <= end; t++ {
		out[begins+t] = poissonOf(rng, o.mean(t, eggs))
	}
	return out
}

func (o Outbreak) begins(rng *rand.Rand, hatch, swim int) int {
	if o.Alevins {
		return hatch + 8 + rng.IntN(swim-12-hatch-8)
	}
	return 5 + rng.IntN(max(hatch-4, 6)-5)
}

// mean is the mean of the dead on day t of the outbreak, 0 for the first.
func (o Outbreak) mean(t, eggs int) float64 {
	mean := o.Rate * float64(eggs)
	if o.Doubling > 0 {
		mean *= math.Exp2(float64(t) / o.Doubling)
	}
	return math.Min(mean, 3*float64(eggs)) // more than are left
}

// stretchOf is the stretch of the season that the rule takes a day for.
func stretchOf(day int, index float64, alevins, fry int) stats.DeadStage {
	switch {
	case day <= 4:
		return stats.StageArrival
	case day < alevins && index >= 0.97:
		return stats.StageHatching
	case day < alevins:
		return stats.StageEgg
	case day < fry && (day < alevins+7 || index <= 1.08):
		return stats.StageHatching
	case day < fry && index >= 1.6:
		return stats.StageSwimUp
	case day < fry:
		return stats.StageAlevin
	case day < fry+14:
		return stats.StageSwimUp
	}
	return stats.StageFry
}

// negativeBinomial draws with size 0.5: a gamma of shape 1/2 is half a squared
// normal.
func negativeBinomial(rng *rand.Rand, mean float64) int {
	if mean <= 0 {
		return 0
	}
	z := rng.NormFloat64()
	return poissonOf(rng, mean/clumping*z*z/2)
}

func poissonOf(rng *rand.Rand, mean float64) int {
	n := 0
	for ; mean > 500; mean -= 500 {
		n += poissonOf(rng, 500)
	}
	limit := math.Exp(-mean)
	for p := rng.Float64(); p > limit; p *= rng.Float64() {
		n++
	}
	return n
}
