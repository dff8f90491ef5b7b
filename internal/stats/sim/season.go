// Package sim generates invented tank seasons and measures how often the rules
// of package stats speak without cause and how fast they find trouble. All
// scenario figures are assumptions: loss, clumping, finding, missed days and
// the speed of an outbreak. The same seed gives the same seasons.
package sim

import (
	"math"
	"math/rand/v2"

	"reddside/internal/stats"
)

// Programme is the assumed world in which tanks live.
type Programme struct {
	LossMedian, LossSpread float64 // season loss of a tank: median, sd of its logarithm
	LossMin, LossMax       float64
	ClusterMean            float64 // dead per cluster, geometric, >= 1
	FindProb               float64 // chance that a pick finds a dead one that lies there
	MissWeekday            float64 // chance that a weekday has no check
	EggsMin, EggsMax       int
}

// Base returns the world of the base scenario: 50 to 300 eggs, 2 to 15 % loss,
// some 80 checks. Clumping and finding are set so that the dispersion of the
// counts is near 2.4 and the simple rules (five dead, 2 % of the tank) speak
// about as often as in the study that proposed the dead-count rule.
func Base() Programme {
	return Programme{
		LossMedian: 0.07, LossSpread: 0.5, LossMin: 0.02, LossMax: 0.15,
		ClusterMean: 1.7, FindProb: 0.9, MissWeekday: 0.05, EggsMin: 50, EggsMax: 300,
	}
}

// Good returns a programme of careful tanks, 2 to 5 % loss.
func Good() Programme {
	p := Base()
	p.LossMedian, p.LossMax = 0.035, 0.05
	return p
}

// Poor returns a programme of poor tanks, 10 to 15 % loss.
func Poor() Programme {
	p := Base()
	p.LossMedian, p.LossMin = 0.12, 0.10
	return p
}

// TwiceAsBad returns a programme far from the default rates, 15 to 30 % loss.
func TwiceAsBad() Programme {
	p := Base()
	p.LossMedian, p.LossMin, p.LossMax = 0.21, 0.15, 0.30
	return p
}

// Missing returns the base with 40 % of the weekdays missed.
func Missing() Programme {
	p := Base()
	p.MissWeekday = 0.40
	return p
}

// Clumped returns the base with larger clusters of dead.
func Clumped() Programme {
	p := Base()
	p.ClusterMean = 2.4
	return p
}

// Event is what goes wrong in a season, if anything.
type Event int

// The events.
const (
	Nothing   Event = iota
	Fungus          // 1 % of the living a day at the start, doubling every 2 days
	Overnight       // a share of the living in one night
)

// Season is one generated season as the rule and the observers see it.
type Season struct {
	Checks []stats.DeadCheck
	// Stages is the stretch of the season on the day of each check.
	Stages []stats.DeadStage
	// First is the position of the first check after the first animal died of
	// the event, Onset that of the first check after the event began; -1 for
	// none.
	First, Onset int
}

// A season: the length of each stage in days, and the share of the season's
// loss that falls into it. Share x 7 % / days are the default rates of the rule,
// but for fry, whose rate lies below the rule's floor.
var (
	stageDays  = [stats.StageCount]float64{4, 25, 6, 30, 10, 60}
	stageShare = [stats.StageCount]float64{0.20, 0.20, 0.30, 0.10, 0.15, 0.05}
)

const (
	winterBreak = 16 // days without a check, weekends included
	weekLen     = 7
)

// Generator draws seasons. It is not safe for use by several goroutines.
type Generator struct {
	rng *rand.Rand
	cfg stats.DeadConfig
}

// NewGenerator returns a generator with a fixed seed.
func NewGenerator(seed uint64) *Generator {
	return &Generator{rng: rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15)), cfg: stats.DefaultDeadConfig()}
}

// Season draws one season of p in which e happens; share is the loss of an
// Overnight.
func (g *Generator) Season(p Programme, e Event, share float64) Season {
	eggs := p.EggsMin + g.rng.IntN(p.EggsMax-p.EggsMin+1)
	loss := 0.0
	for loss < p.LossMin || loss > p.LossMax {
		loss = p.LossMedian * math.Exp(p.LossSpread*g.rng.NormFloat64())
	}
	bounds, total := g.stageBounds()
	holiday := g.holidays(total)
	start := g.eventDay(e, bounds, total)

	s := Season{First: -1, Onset: -1}
	alive, lying, known, stage := eggs, 0, eggs, 0
	var since [stats.StageCount]int
	weekday, days, began := g.rng.IntN(7), 0, false
	for day := 1; day <= total; day++ {
		for day > bounds[stage] {
			stage++
		}
		since[stage]++
		days++
		dead := g.clustered(float64(alive)*loss*stageShare[stage]/stageDays[stage], p.ClusterMean)
		dead = min(alive, dead)
		if k := day - start; start > 0 && k >= 0 {
			killed := g.eventDeaths(e, alive-dead, k, share)
			dead += killed
			began = began || killed > 0
		}
		alive -= dead
		lying += dead
		if (weekday+day)%weekLen >= 5 || holiday[day] || g.rng.Float64() < p.MissWeekday {
			continue
		}
		found := g.binomial(lying, p.FindProb)
		lying -= found
		if start > 0 && day >= start && s.Onset < 0 {
			s.Onset = len(s.Checks)
		}
		if began && s.First < 0 {
			s.First = len(s.Checks)
		}
		s.Checks = append(s.Checks, stats.DeadCheck{
			Days: days, AtRisk: known, Dead: found, RateSum: g.cfg.RateSum(since),
			Busy: since[stats.StageArrival]+since[stats.StageHatching] > 0,
		})
		s.Stages = append(s.Stages, stats.DeadStage(stage))
		known -= found
		since, days = [stats.StageCount]int{}, 0
	}
	return s
}

// stageBounds returns the last day of each stage, each length within 15 % of
// its usual, and the last day of the season.
func (g *Generator) stageBounds() (last [stats.StageCount]int, total int) {
	for i, d := range stageDays {
		length := int(d)
		if i != int(stats.StageArrival) {
			length = int(math.Round(d * (0.85 + 0.3*g.rng.Float64())))
		}
		total += length
		last[i] = total
	}
	return last, total
}

// holidays marks one break at a random place after the first week.
func (g *Generator) holidays(total int) []bool {
	off := make([]bool, total+1)
	from := 8 + g.rng.IntN(total-winterBreak-8)
	for d := from; d < from+winterBreak; d++ {
		off[d] = true
	}
	return off
}

// eventDay draws the first day of the event: fungus while there are eggs and no
// hatch yet, a sudden loss on any day but the last two weeks; 0 for none.
func (g *Generator) eventDay(e Event, bounds [stats.StageCount]int, total int) int {
	first := bounds[stats.StageArrival] + 1
	switch e {
	case Fungus:
		return first + g.rng.IntN(bounds[stats.StageEgg]-first+1)
	case Overnight:
		return first + g.rng.IntN(total-14-first)
	default:
		return 0
	}
}

// firstDay is the loss on the first day of an outbreak whose rate is 1 % a day at
// its start and doubles every 2 days: the integral of 0.01 * 2^(t/2) over a day.
const firstDay = 0.01 * 2 / math.Ln2 * (math.Sqrt2 - 1)

func (g *Generator) eventDeaths(e Event, alive, k int, share float64) int {
	switch {
	case e == Fungus:
		return g.binomial(alive, math.Min(1, firstDay*math.Exp2(float64(k)/2)))
	case e == Overnight && k == 0:
		return g.binomial(alive, share)
	}
	return 0
}

// clustered draws a compound Poisson number with the given mean.
func (g *Generator) clustered(mean, cluster float64) int {
	n := 0
	for range g.poisson(mean / cluster) {
		n++
		for g.rng.Float64() > 1/cluster {
			n++
		}
	}
	return n
}

// poisson draws by multiplication; the means here are small.
func (g *Generator) poisson(mean float64) int {
	limit, n := math.Exp(-mean), 0
	for p := g.rng.Float64(); p > limit; p *= g.rng.Float64() {
		n++
	}
	return n
}

func (g *Generator) binomial(n int, p float64) int {
	k := 0
	for range n {
		if g.rng.Float64() < p {
			k++
		}
	}
	return k
}
