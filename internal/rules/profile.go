package rules

import (
	"fmt"
	"math"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// Known says how a threshold is known.
type Known string

// How a threshold is known. Simulated thresholds were chosen by simulating
// invented seasons; a local choice has no published source.
const (
	Read        Known = "read"
	FromMemory  Known = "memory"
	Simulated   Known = "simulated"
	LocalChoice Known = "local"
)

// MessageKey returns the catalogue key of how the threshold is known.
func (k Known) MessageKey() string { return "rules.known." + string(k) }

// Threshold is one stock value. An empty Species or Stage means any; the more
// precise row wins, species before stage.
type Threshold struct {
	Limit   Limit
	Species logbook.Species
	Stage   logbook.Stage
	Value   float64
	Unit    string // UCUM: "Cel", "K" for a difference, "d", "mg/L", "[pH]", "%", "1"
	Source  string // citation; "" for a local choice
	Known   Known
}

// Override is a local value of a threshold. It replaces the stock row of the
// same limit, species and stage, or adds a more precise one.
type Override struct {
	Limit   Limit
	Species logbook.Species
	Stage   logbook.Stage
	Value   float64
	Reason  string // never empty
	Source  string // citation when the value is that of a publisher; "" for a local choice
	On      civil.Date
	ByLabel string
}

// Row is a threshold as the rules page shows it: stock and local side by side.
type Row struct {
	Threshold
	HasStock bool // false when only the override names this species and stage
	Local    *Override
}

// InUse returns the value that the rules work with.
func (r Row) InUse() float64 {
	if r.Local != nil {
		return r.Local.Value
	}
	return r.Value
}

const (
	speciesSlots = 11 // ten species, and 0 for an unknown one
	stageSlots   = 7  // six stages, and 0 for an unknown one
)

// Profile is the set of thresholds in force. It never changes once made and
// may be shared between goroutines.
type Profile struct {
	Revision  int64
	ChangedAt time.Time // when a limit was last changed; zero for the stock profile
	rows      []Row
	table     [limitCount][speciesSlots][stageSlots]float64
	dead      stats.DeadConfig
	deadOwn   bool
	overrides []Override
}

// StockProfile returns the profile without local changes; its Revision is 0.
func StockProfile() *Profile {
	p := &Profile{}
	for _, t := range stock() {
		p.rows = append(p.rows, Row{Threshold: t, HasStock: true})
	}
	p.build()
	return p
}

// NewProfile returns the stock profile with local changes. The last override of
// a threshold wins. An override without a reason, with a number outside the
// bounds of its unit, or that leaves no room between low and high limits, is
// refused with a *logbook.Error.
func NewProfile(revision int64, overrides []Override) (*Profile, error) {
	p := StockProfile()
	p.Revision = revision
	p.overrides = append([]Override(nil), overrides...)
	for i := range p.overrides {
		o := &p.overrides[i]
		if err := o.check(); err != nil {
			return nil, err
		}
		p.apply(o)
	}
	p.build()
	if err := p.check(); err != nil {
		return nil, err
	}
	return p, nil
}

// Overrides returns the local changes, oldest first.
func (p *Profile) Overrides() []Override { return append([]Override(nil), p.overrides...) }

// Rows returns the stock and local values of a threshold.
func (p *Profile) Rows(l Limit) []Row {
	var out []Row
	for _, r := range p.rows {
		if r.Limit == l {
			out = append(out, r)
		}
	}
	return out
}

// Value returns the threshold for a species and stage; ok is false when none is
// set. It allocates nothing.
func (p *Profile) Value(l Limit, species logbook.Species, stage logbook.Stage) (v float64, ok bool) {
	if l >= limitCount {
		return 0, false
	}
	v = p.table[l][speciesSlot(species)][stage.Order()]
	return v, !math.IsNaN(v)
}

// DeadConfig returns the settings of the dead-count rule, and whether all its
// rates are the programme's own; only then may a chance be promised.
func (p *Profile) DeadConfig() (cfg stats.DeadConfig, own bool) { return p.dead, p.deadOwn }

func (p *Profile) apply(o *Override) {
	for i := range p.rows {
		r := &p.rows[i]
		if r.Limit == o.Limit && r.Species == o.Species && r.Stage == o.Stage {
			r.Local = o
			return
		}
	}
	unit := ""
	for _, r := range p.rows {
		if r.Limit == o.Limit {
			unit = r.Unit
		}
	}
	p.rows = append(p.rows, Row{
		Threshold: Threshold{Limit: o.Limit, Species: o.Species, Stage: o.Stage, Value: math.NaN(), Unit: unit,
			Known: LocalChoice},
		Local: o,
	})
}

// build fills the lookup table, least precise rows first.
func (p *Profile) build() {
	for l := range p.table {
		for s := range p.table[l] {
			for g := range p.table[l][s] {
				p.table[l][s][g] = math.NaN()
			}
		}
	}
	for precision := range 4 {
		for _, r := range p.rows {
			if r.precision() == precision {
				p.fill(r)
			}
		}
	}
	p.dead = p.deadConfig()
	p.deadOwn = p.ownDeadRates()
}

func (r Row) precision() int {
	n := 0
	if r.Stage != "" {
		n++
	}
	if r.Species != "" {
		n += 2
	}
	return n
}

func (p *Profile) fill(r Row) {
	cell, stage := &p.table[r.Limit], r.Stage.Order()
	for s := range cell {
		if r.Species != "" && s != speciesSlot(r.Species) {
			continue
		}
		for g := range cell[s] {
			if r.Stage == "" || g == stage {
				cell[s][g] = r.InUse()
			}
		}
	}
}

// any returns a threshold that depends on neither species nor stage.
func (p *Profile) any(l Limit) float64 { return p.table[l][0][0] }

func (p *Profile) deadConfig() stats.DeadConfig {
	cfg := stats.DefaultDeadConfig()
	cfg.Phi = p.any(DeadScatter)
	cfg.WatchP, cfg.ActP = p.any(DeadWatchChance), p.any(DeadActChance)
	cfg.MinDead = int(p.any(DeadMin))
	cfg.ClockDead = max(cfg.ClockDead, cfg.MinDead) // no clock speaks of fewer
	cfg.OverrideShare, cfg.OverrideDead = p.any(DeadShare)/100, int(p.any(DeadShareMin))
	for stage, l := range DeadRateLimits() {
		cfg.Rates[stage] = p.any(l)
	}
	return cfg
}

func (p *Profile) ownDeadRates() bool {
	own := 0
	for _, r := range p.rows {
		if r.Limit >= DeadRateArrival && r.Limit <= DeadRateFry && r.Local != nil {
			own++
		}
	}
	return own == stats.StageCount
}

// DeadRateLimits names the thresholds that hold the usual deaths of each stretch
// of a season.
func DeadRateLimits() [stats.StageCount]Limit {
	return [stats.StageCount]Limit{
		stats.StageArrival: DeadRateArrival, stats.StageEgg: DeadRateEgg, stats.StageHatching: DeadRateHatching,
		stats.StageAlevin: DeadRateAlevin, stats.StageSwimUp: DeadRateSwimUp, stats.StageFry: DeadRateFry,
	}
}

func (o *Override) check() error {
	args := logbook.Args{"Limit": o.Limit, "Value": o.Value}
	low, high := o.Limit.Bounds()
	switch {
	case o.Limit >= limitCount:
		return logbook.Errorf(logbook.Invalid, "rules.limit_unknown", nil)
	case o.Reason == "":
		return logbook.Errorf(logbook.Invalid, "rules.reason_empty", args)
	case o.Species != "" && !o.Species.Valid(), o.Stage != "" && o.Stage.Order() == 0:
		return logbook.Errorf(logbook.Invalid, "rules.limit_unknown", args)
	case (o.Species != "" || o.Stage != "") && !o.Limit.Scoped():
		// The rules would never look at it.
		return logbook.Errorf(logbook.Invalid, "rules.limit_unscoped", args)
	case !(o.Value >= low && o.Value <= high):
		args["Low"], args["High"] = low, high
		return logbook.Errorf(logbook.Invalid, "rules.limit_range", args)
	}
	return nil
}

// check refuses limits that cross each other and dead-count settings that make
// no sense.
func (p *Profile) check() error {
	pairs := [][2]Limit{
		{TempActLow, TempWatchLow}, {TempWatchLow, TempWatchHigh}, {TempWatchHigh, TempActHigh},
		{PHActLow, PHWatchLow}, {PHWatchLow, PHWatchHigh}, {PHWatchHigh, PHActHigh},
		{AmmoniaWatch, AmmoniaAct}, {NitriteWatch, NitriteAct}, {OxygenAct, OxygenWatch},
		{DeadActChance, DeadWatchChance}, {GasWatch, GasAct},
	}
	for _, pair := range pairs {
		for s := range speciesSlots {
			for g := range stageSlots {
				if p.table[pair[0]][s][g] > p.table[pair[1]][s][g] {
					return logbook.Errorf(logbook.Invalid, "rules.limits_cross",
						logbook.Args{"Lower": pair[0], "Upper": pair[1]})
				}
			}
		}
	}
	if err := p.dead.Validate(); err != nil {
		return &logbook.Error{Kind: logbook.Invalid, Key: "rules.dead_settings",
			Err: fmt.Errorf("dead-count settings: %w", err)}
	}
	return nil
}

func speciesSlot(s logbook.Species) int {
	switch s {
	case logbook.AtlanticSalmon:
		return 1
	case logbook.BrownTrout:
		return 2
	case logbook.BrookTrout:
		return 3
	case logbook.LakeTrout:
		return 4
	case logbook.RainbowTrout:
		return 5
	case logbook.Chinook:
		return 6
	case logbook.Coho:
		return 7
	case logbook.Chum:
		return 8
	case logbook.Pink:
		return 9
	case logbook.Sockeye:
		return 10
	}
	return 0
}
