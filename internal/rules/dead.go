package rules

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

func deadRules() []Rule { return []Rule{deadCount()} }

func deadCount() Rule {
	return newRule("dead_count", Deaths, logbook.Keeper, today, 2,
		[]string{"air_on", "call_now", "what_went_in", "pour_nothing", "keep_dead_cold", "dechlorinate_or_move",
			"starved", "put_down",
			"check_temperature_air", "look_fuzz", "test_ammonia", "pick_dead", "dispose_dead", "wash_hands",
			"count_again", "phone_coordinator"},
		DeadWatchChance, DeadActChance, DeadMin, DeadShare, DeadShareMin, DeadScatter,
		DeadRateArrival, DeadRateEgg, DeadRateHatching, DeadRateAlevin, DeadRateSwimUp, DeadRateFry)
}

// Lengths of the stretches in which more deaths are usual, in days: the first
// four days after delivery, the hatch week, two weeks from swim-up on (pinheads
// die one to three weeks after it). Assumptions of the simulation.
const (
	arrivalDays = 4
	hatchDays   = 7
	swimUpDays  = 14
)

// deaths judges the dead of the newest count by what is usual for the number at
// risk, the days since the last pick, the stage and the tank.
func (a *assessor) deaths() {
	t := &deadTrack{}
	if a.track != nil {
		t = &a.track.dead
	}
	picks, results := t.judged(a)
	if len(results) == 0 {
		return
	}
	cfg, own := a.p.DeadConfig()
	n := len(results) - 1
	last := results[n]
	if last.Flag == stats.DeadNone {
		return
	}
	first := n
	for first > 0 && results[first-1].Flag != stats.DeadNone {
		first--
	}
	a.out.Situation.MassToday = last.Override
	for i := n; i >= first && picks.on[n].Sub(picks.on[i]) <= massDays; i-- {
		// Before any other flag: no step of theirs changes the water.
		a.out.Situation.MassLoss = a.out.Situation.MassLoss || results[i].Override
	}
	a.raiseDead(cfg, own, picks, last, picks.on[first])
}

// massDays is how long a mass death has its own steps, a call and a sample before
// anything is changed: one quiet count after it ends nothing. A local choice.
const massDays = 3

func (a *assessor) raiseDead(cfg stats.DeadConfig, own bool, picks picks, last stats.DeadResult, since civil.Date) {
	n := len(picks.on) - 1
	window := max(last.Window-1, 0)
	kind, chance := Watch, cfg.WatchP
	if last.Flag == stats.DeadAct {
		kind = Act
	}
	// Fuzz turns a watch into an act, but the limit passed is that of the watch.
	if last.Override || last.MinP() <= cfg.ActP {
		chance = cfg.ActP
	}
	r := deadCount()
	count, from, days, mu, weight := last.Found[window], picks.before(n-window), last.Days[window], last.Mu[window],
		last.A
	first := picks.on[n-window]
	if c := last.Clock; c.On {
		count, from, days, mu, weight, chance = c.Found, picks.on[n].AddDays(-c.Days), c.Days, c.Mu, c.A, c.P
		first = from.AddDays(1)
	}
	low, high := usualRange(mu, cfg.Phi, weight)
	// The most that luck explains in that stretch, and how rarely it exceeds it.
	most := stats.SmallestUnusual(mu, cfg.Phi, weight, chance, cfg.MinDead) - 1
	args := logbook.Args{
		"Dead": count, "Today": last.Found[0], "AtRisk": last.AtRisk, "Since": from, "Day": from.Weekday(),
		"Low": low, "High": high, "Limit": most, "Count": days,
		"Checks": roundChecks(1 / stats.PredictiveTail(most+1, mu, cfg.Phi, weight)),
	}
	f := Flag{Kind: kind, Subject: "dead", Since: since, Why: text(r.ID, "why_expected"),
		Class: text(r.ID, "class_watch")}
	variant := ""
	switch {
	case a.emptied:
		variant = "all"
	case picks.checks[n].FuzzSeen && a.stageOn(picks.on[n]) >= alevin:
		a.fungusTold = true
		variant = "fuzz" // no eggs are left that it could be on
	case picks.checks[n].FuzzSeen:
		a.fungusTold = true
		variant = "fungus"
	default:
		variant = a.deadCause(picks.on[n])
	}
	each := a.s.DeadByDay(first, a.today)
	f.Headline = headline(r.ID, variant, logbook.Args{"Each": each})
	switch {
	case last.Override && last.MinP() > cfg.ActP:
		f.Why = text(r.ID, "why_share")
	case own && !picks.checks[n].FuzzSeen:
		f.Why = text(r.ID, "why_chance")
	case picks.on[n].Sub(a.s.StartedOn()) < 7:
		f.Why = text(r.ID, "why_learning")
	}
	if kind == Act {
		f.Within, f.Class = Message{Key: now}, text(r.ID, "class_act")
	}
	f.Why.Args = args
	f.Class.Args = logbook.Args{"Each": each, "Low": low, "High": high}
	a.raise(r, f)
}

// deadCause names what deaths of this time of the season most often are, for the
// headline: "" when nothing special.
func (a *assessor) deadCause(d civil.Date) string {
	switch {
	case d.Sub(a.s.StartedOn()) <= journeyDays:
		return "journey"
	case a.stageOn(d) >= fry:
		return "starving"
	}
	return ""
}

// journeyDays is how long after delivery losses are those of the journey: eggs that
// a shock killed turn white within the week. Common practice, no source.
const journeyDays = 7

// usualRange is what nine in ten stretches like this bring: the central range of
// the predictive distribution.
func usualRange(mu, phi, a float64) (low, high int) {
	return stats.PredictiveQuantile(0.05, mu, phi, a), stats.PredictiveQuantile(0.95, mu, phi, a)
}

// roundChecks writes "once in so many checks" to two digits.
func roundChecks(v float64) int {
	unit := math.Pow(10, math.Max(0, math.Floor(math.Log10(v))-1))
	return int(math.Round(v/unit) * unit)
}

// herd counts the living day by day.
type herd struct {
	a                       *assessor
	alive                   int
	delivery, event, sample int
}

// before returns the living on day d before its dead are taken out. Days must
// not go back.
func (h *herd) before(d civil.Date) int {
	s := h.a.s
	for ; h.delivery < len(s.Deliveries) && !s.Deliveries[h.delivery].On.After(d); h.delivery++ {
		h.alive += s.Deliveries[h.delivery].Count
	}
	for ; h.event < len(s.Events) && !s.Events[h.event].On.After(d); h.event++ {
		e := &s.Events[h.event]
		if e.Kind != logbook.MovedIn && e.On == d {
			break // what leaves on the day was there in the morning
		}
		h.sampled(d, e.On)
		switch e.Kind {
		case logbook.MovedIn:
			h.alive += e.Count.V
		case logbook.MovedOut, logbook.SampleTaken, logbook.Released:
			h.alive -= e.Count.V
		case logbook.Counted:
			if e.Count.OK {
				h.alive = e.Count.V
			}
		}
	}
	h.sampled(d, d)
	h.alive = max(h.alive, 0)
	return h.alive
}

// sampled takes out what samples before the morning of day d, and not after
// last, did not bring back.
func (h *herd) sampled(d, last civil.Date) {
	list := h.a.s.Samples
	for ; h.sample < len(list) && list[h.sample].On.Before(d) && !list[h.sample].On.After(last); h.sample++ {
		h.alive -= list[h.sample].Lost.V
	}
}

func (h *herd) dead(n int) { h.alive = max(h.alive-n, 0) }

// rateCursor answers the usual death rate of days asked about in order.
type rateCursor struct {
	stage    stageCursor
	cfg      stats.DeadConfig
	delivery int
	arrived  civil.Date
}

// stretchOn returns the stretch of the season that day d belongs to.
func (w *rateCursor) stretchOn(d civil.Date) stats.DeadStage {
	s := w.stage.a.s
	for w.delivery < len(s.Deliveries) && !s.Deliveries[w.delivery].On.After(d) {
		w.arrived = s.Deliveries[w.delivery].On
		w.delivery++
	}
	stretch := w.stage.a.stretch(d, w.stage.on(d))
	if !w.arrived.IsZero() && d.Sub(w.arrived) <= arrivalDays {
		stretch = stats.StageArrival
	}
	return stretch
}

// stretch returns the stretch of the season that day d belongs to, from what was
// known on that day.
func (a *assessor) stretch(d civil.Date, stage int) stats.DeadStage {
	index, known := a.indexOn(d)
	switch {
	case stage > 0 && stage < alevin:
		// The first hatch before they are seen; half the batch hatches at 1.
		if known && index >= 0.97 || a.seenWithin(d, hatchDays, alevin) {
			return stats.StageHatching
		}
		return stats.StageEgg
	case stage == alevin:
		switch {
		case a.seenWithin(d, hatchDays, alevin), known && index <= 1.08 && !a.seenBefore(d, hatchDays, alevin):
			return stats.StageHatching
		case known && index >= 1.6:
			return stats.StageSwimUp
		}
		return stats.StageAlevin
	case stage >= fry:
		if a.seenWithin(d, swimUpDays, fry) || known && index <= 1.9 && !a.seenBefore(d, swimUpDays, fry) {
			return stats.StageSwimUp
		}
		return stats.StageFry
	}
	return stats.StageEgg
}

// seenWithin reports whether the stage was first seen at most so many days
// before d.
func (a *assessor) seenWithin(d civil.Date, days, order int) bool {
	first := a.firstSeen(order)
	return !first.IsZero() && !first.After(d) && d.Sub(first) < days
}

// seenBefore reports whether the stage was first seen so many days before d or
// earlier.
func (a *assessor) seenBefore(d civil.Date, days, order int) bool {
	first := a.firstSeen(order)
	return !first.IsZero() && d.Sub(first) >= days
}
