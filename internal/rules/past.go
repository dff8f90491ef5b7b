package rules

import (
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// PastChecks returns the dead counts of a season that is over, for
// stats.Recalibrate: the number at risk, the days since the pick before by
// stretch of the season, and whether the pick belongs to an episode that was
// called and confirmed. An episode is confirmed when the rule called it act and
// fuzz was seen or a treatment was given within it: those deaths are not what is
// usual. p is the profile that made the calls; nil is the stock one.
func PastChecks(s *logbook.Season, upTo civil.Date, f *forecast.Result, p *Profile) []stats.PastCheck {
	a := newAssessor(Input{Season: s, Today: upTo, Forecast: f, Profile: p})
	picks := a.picks()
	if len(picks.checks) == 0 {
		return nil
	}
	results, err := stats.JudgeDead(a.p.dead, picks.checks)
	if err != nil {
		return nil // picks are in range by construction and the profile was checked
	}
	confirmed := a.confirmedEpisodes(&picks, results)
	out := make([]stats.PastCheck, len(picks.checks))
	rates := rateCursor{stage: stageCursor{a: a}, cfg: a.p.dead}
	for i, c := range picks.checks {
		out[i] = stats.PastCheck{AtRisk: c.AtRisk, Dead: c.Dead, Confirmed: confirmed[i]}
		for d := picks.on[i].AddDays(1 - c.Days); !d.After(picks.on[i]); d = d.AddDays(1) {
			out[i].Stage = rates.stretchOn(d)
			out[i].Days[out[i].Stage]++
		}
	}
	return out
}

// confirmedEpisodes marks the picks of runs of flagged picks with an act in them
// that fuzz or a treatment confirmed.
func (a *assessor) confirmedEpisodes(p *picks, results []stats.DeadResult) []bool {
	out := make([]bool, len(results))
	for i := 0; i < len(results); {
		if results[i].Flag == stats.DeadNone {
			i++
			continue
		}
		from, act, seen := i, false, false
		for ; i < len(results) && results[i].Flag != stats.DeadNone; i++ {
			act = act || results[i].Flag == stats.DeadAct
			seen = seen || p.checks[i].FuzzSeen || a.treated(p.before(i), p.on[i])
		}
		for k := from; k < i && act && seen; k++ {
			out[k] = true
		}
	}
	return out
}

func (a *assessor) treated(after, upTo civil.Date) bool {
	for i := range a.s.Events {
		e := &a.s.Events[i]
		if e.Kind == logbook.Treatment && e.On.After(after) && !e.On.After(upTo) {
			return true
		}
	}
	return false
}
