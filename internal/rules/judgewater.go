package rules

import (
	"reddside/internal/logbook"
)

// WaterJudgement is a water test outside a limit in force.
type WaterJudgement struct {
	Kind        Kind // Watch, Act, or Due for nitrate
	Limit       Limit
	Value       float64 // in the unit of the limit: un-ionised ammonia as NH3
	Bound       float64
	Source      string // citation of the limit, "" for a local choice
	LocalChoice bool
}

// JudgeWater lists, for each check, the limits in force that its water tests lie
// outside of; none when all are inside. Unknown is true when there is ammonia
// whose un-ionised part cannot be told without pH or temperature.
func JudgeWater(in Input, checks []logbook.Check) (out [][]WaterJudgement, unknown []bool) {
	a := newAssessor(in)
	out, unknown = make([][]WaterJudgement, len(checks)), make([]bool, len(checks))
	for i := range checks {
		c := &checks[i]
		j := waterJudge{a: a, stage: a.stageOn(c.On)}
		if c.PH.OK {
			j.low(c.PH.V, PHWatchLow, PHActLow)
			j.high(c.PH.V, Watch, PHWatchHigh, PHActHigh)
		}
		if c.TAN.OK {
			v := a.judgeAmmonia(c)
			unknown[i] = v.Blind && c.TAN.V > 0
			if v.Kind == Act || v.Kind == Watch {
				j.out = append(j.out, WaterJudgement{Kind: v.Kind, Limit: v.Limit, Value: v.Value, Bound: v.Bound})
				if w := &j.out[len(j.out)-1]; v.Source != "" {
					w.Source = v.Source
				} else {
					w.Source, w.LocalChoice = a.sourceOf(v.Limit, j.stage)
				}
			}
		}
		if c.Nitrite.OK {
			j.high(float64(c.Nitrite.V), Watch, NitriteWatch, NitriteAct)
		}
		if c.Nitrate.OK {
			j.high(float64(c.Nitrate.V), Due, NitrateDue, NitrateDue)
		}
		if c.Oxygen.OK {
			j.low(float64(c.Oxygen.V), OxygenWatch, OxygenAct)
		}
		out[i] = j.out
	}
	return out, unknown
}

type waterJudge struct {
	a     *assessor
	stage int
	out   []WaterJudgement
}

func (j *waterJudge) add(kind Kind, l Limit, v float64) {
	w := WaterJudgement{Kind: kind, Limit: l, Value: v, Bound: j.a.limit(l, j.stage)}
	w.Source, w.LocalChoice = j.a.sourceOf(l, j.stage)
	j.out = append(j.out, w)
}

func (j *waterJudge) high(v float64, kind Kind, first, act Limit) {
	switch {
	case first != act && v > j.a.limit(act, j.stage)+tie:
		j.add(Act, act, v)
	case v > j.a.limit(first, j.stage)+tie:
		j.add(kind, first, v)
	}
}

func (j *waterJudge) low(v float64, watch, act Limit) {
	switch {
	case v < j.a.limit(act, j.stage)-tie:
		j.add(Act, act, v)
	case v < j.a.limit(watch, j.stage)-tie:
		j.add(Watch, watch, v)
	}
}
