package rules

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// picks are the dead counts of a season, one a day.
type picks struct {
	start  civil.Date
	on     []civil.Date
	checks []stats.DeadCheck
}

// before returns the day of the pick before pick i, or the delivery.
func (p *picks) before(i int) civil.Date {
	if i <= 0 {
		return p.start
	}
	return p.on[i-1]
}

// deadTrack judges the dead counts of a season as far as it has been read. In a
// replay it is kept from day to day.
type deadTrack struct {
	picks  picks
	run    *stats.DeadRun
	failed bool

	next  int // first check not read yet
	herd  herd
	rates rateCursor
	back  []pickMark // how it was before each pick, in a replay
}

// pickMark is where a pick begins.
type pickMark struct {
	next int
	herd herd
}

// picks adds up the dead of each day on which they were counted.
func (a *assessor) picks() picks {
	p, _ := (&deadTrack{}).judged(a)
	return p
}

// judged reads on to the last check of the assessor and returns the picks with
// their verdicts.
func (t *deadTrack) judged(a *assessor) (picks, []stats.DeadResult) {
	cfg, _ := a.p.DeadConfig()
	if t.run == nil {
		run, err := stats.NewDeadRun(cfg)
		if err != nil {
			return picks{}, nil // the profile was checked
		}
		room := len(a.s.Checks)
		run.Grow(room)
		t.run, t.herd, t.rates = run, herd{a: a}, rateCursor{stage: stageCursor{a: a}, cfg: cfg}
		t.picks = picks{on: make([]civil.Date, 0, room)}
	}
	t.picks.start = a.s.StartedOn()
	for t.next < len(a.s.Checks) {
		t.pick(a)
	}
	if t.failed {
		return picks{}, nil // picks are in range by construction
	}
	t.picks.checks = t.run.Checks()
	return t.picks, t.run.Results()
}

// pick adds up the dead of the next day on which they were counted, with the
// number at risk and the usual rates of the days since the pick before. Looks on
// one day are one pick. A pick on the day of delivery belongs to the next day,
// because the eggs had no day to die in.
func (t *deadTrack) pick(a *assessor) {
	mark := pickMark{t.next, t.herd}
	day := a.s.Checks[t.next].On
	dead, counted, fuzz := 0, false, false
	for ; t.next < len(a.s.Checks) && a.s.Checks[t.next].On == day; t.next++ {
		n, ok := a.s.Checks[t.next].Dead()
		dead, counted = dead+n, counted || ok
		fuzz = fuzz || a.s.Checks[t.next].Fungus == logbook.Seen
	}
	if !counted || day.Before(t.picks.start) {
		return
	}
	days := max(1, day.Sub(t.picks.before(len(t.picks.on))))
	c := stats.DeadCheck{Days: days, AtRisk: t.herd.before(day), Dead: dead, FuzzSeen: fuzz}
	t.herd.dead(dead)
	// More dead than there should be: the account is wrong, the dead are real.
	c.AtRisk = max(c.AtRisk, c.Dead)
	for d := day.AddDays(1 - days); !d.After(day); d = d.AddDays(1) {
		stretch := t.rates.stretchOn(d)
		c.RateSum += math.Max(t.rates.cfg.Rates[stretch], stats.RateFloor)
		c.Busy = c.Busy || stretch == stats.StageArrival || stretch == stats.StageHatching
	}
	t.picks.on = append(t.picks.on, day)
	if a.track != nil {
		t.back = append(t.back, mark)
	}
	t.failed = t.failed || t.run.Add(c) != nil
}

// forget takes back the picks of day d and after, whose usual rates have
// changed.
func (t *deadTrack) forget(a *assessor, d civil.Date) {
	if t.run == nil {
		return
	}
	n := len(t.picks.on)
	for n > 0 && !t.picks.on[n-1].Before(d) {
		n--
	}
	if n == len(t.picks.on) {
		return
	}
	t.next, t.herd = t.back[n].next, t.back[n].herd
	t.picks.on, t.back = t.picks.on[:n], t.back[:n]
	t.rates = rateCursor{stage: stageCursor{a: a}, cfg: t.rates.cfg}
	t.run.Cut(n)
	t.failed = false
}
