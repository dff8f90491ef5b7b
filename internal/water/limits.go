package water

import (
	"bytes"
	_ "embed" // the limit rows
	"encoding/csv"
	"errors"
	"fmt"
	"strconv"

	"reddside/internal/units"
)

//go:embed limits.csv
var limitsCSV []byte

// Parameters of the limit rows.
const (
	ParamUnionisedAmmonia = "unionized_ammonia"
	ParamTotalAmmoniaN    = "total_ammonia_n"
	ParamNitriteN         = "nitrite_n"
	ParamNitrate          = "nitrate"
	ParamPH               = "ph"
	ParamChlorine         = "chlorine_total_residual"
	ParamOxygen           = "dissolved_oxygen"
)

// Stages of the oxygen rows. Eggs in a basket hang in the open water; the
// higher figures for buried eggs are for the water above a gravel bed and must
// not be used for a basket.
const (
	StageEggsInBasket = "egg_alevin_in_basket"
	StageEggsInGravel = "egg_in_gravel"
	StageFry          = "fry"
	StageAny          = "any"
)

// Limit is one published limit. A value below Low* or above High* is outside
// it. Basis says what the figure is counted as: "N", "NH3", "NO3", or "" where
// the source does not say. Source and How (read or from memory) stand beside
// every figure.
type Limit struct {
	Parameter, Stage  string
	LowWarn, LowAlarm units.Optional[float64]
	HighWarn          units.Optional[float64]
	HighAlarm         units.Optional[float64]
	Unit, Basis       string
	Source, How       string
}

// LimitSet is the limits of one publisher. Show its name with every flag:
// publishers differ.
type LimitSet struct {
	Name   string
	Limits []Limit
}

// Level is where a value lies against a limit.
type Level int

// Levels, in rising order of concern.
const (
	Within Level = iota
	Warn
	Alarm
)

// LimitSets returns all sets in a fixed order.
func LimitSets() ([]LimitSet, error) {
	all, err := csv.NewReader(bytes.NewReader(limitsCSV)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("water limits: %w", err)
	}
	var sets []LimitSet
	for i, rec := range all[1:] {
		l := Limit{Parameter: rec[1], Stage: rec[2], Unit: rec[7], Basis: rec[8], Source: rec[9], How: rec[10]}
		for j, dst := range []*units.Optional[float64]{&l.LowWarn, &l.LowAlarm, &l.HighWarn, &l.HighAlarm} {
			if rec[3+j] == "" {
				continue
			}
			v, err := strconv.ParseFloat(rec[3+j], 64)
			if err != nil {
				return nil, fmt.Errorf("water limits, row %d: %w", i+2, err)
			}
			*dst = units.Some(v)
		}
		if n := len(sets); n == 0 || sets[n-1].Name != rec[0] {
			sets = append(sets, LimitSet{Name: rec[0]})
		}
		s := &sets[len(sets)-1]
		s.Limits = append(s.Limits, l)
	}
	return sets, nil
}

// Limit returns the set's limit of a parameter for a stage, or for any stage
// when it has none for that one.
func (s LimitSet) Limit(parameter, stage string) (Limit, bool) {
	var anyStage Limit
	found := false
	for _, l := range s.Limits {
		switch {
		case l.Parameter != parameter:
		case l.Stage == stage:
			return l, true
		case l.Stage == StageAny:
			anyStage, found = l, true
		}
	}
	return anyStage, found
}

// ErrUnionisedLimit refuses to judge un-ionised ammonia as a plain number: as N
// and as NH3 are easily mixed up. Use JudgeAmmonia.
var ErrUnionisedLimit = errors.New("water: un-ionised ammonia is judged by JudgeAmmonia only")

// ErrNotUnionised refuses to compare un-ionised ammonia with another limit,
// such as one for total ammonia.
var ErrNotUnionised = errors.New("water: the limit is not for un-ionised ammonia")

// Judge places a value, given in the limit's own unit and basis.
func (l Limit) Judge(v float64) (Level, error) {
	if l.Parameter == ParamUnionisedAmmonia {
		return Within, ErrUnionisedLimit
	}
	if err := units.CheckRange(l.Parameter, v, 0, 1e6, l.Unit); err != nil {
		return Within, err
	}
	return l.level(v), nil
}

// JudgeAmmonia places un-ionised ammonia against a limit for it, in the limit's
// own basis. Where the source does not say, the limit is read as NH3, which is
// the more careful reading.
func (l Limit) JudgeAmmonia(a Ammonia) (Level, error) {
	if l.Parameter != ParamUnionisedAmmonia {
		return Within, ErrNotUnionised
	}
	v := a.NH3
	if l.Basis == "N" {
		v = a.NH3N
	}
	if err := units.CheckRange(l.Parameter, v, 0, 1e6, l.Unit); err != nil {
		return Within, err
	}
	return l.level(float64(v)), nil
}

func (l Limit) level(v float64) Level {
	below := func(o units.Optional[float64]) bool { return o.OK && v < o.V }
	above := func(o units.Optional[float64]) bool { return o.OK && v > o.V }
	switch {
	case below(l.LowAlarm) || above(l.HighAlarm):
		return Alarm
	case below(l.LowWarn) || above(l.HighWarn):
		return Warn
	}
	return Within
}
