package stats

import "slices"

// DeadRun is the dead-count rule of JudgeDead in the middle of a season: picks
// are added as they come, and the newest can be taken back.
type DeadRun struct {
	cfg     DeadConfig
	checks  []DeadCheck
	results []DeadResult
	marks   []deadMark // what was learnt after each check
	teaches []int      // dead that each check taught, of those that have taught yet
}

// deadMark is how far the rule has read and what the tank has taught it.
type deadMark struct {
	a, b                   float64
	day, taught, taughtDay int
	// The same for the second clock.
	slowA, slowB        float64
	slowTaught, slowDay int
}

// NewDeadRun starts a season. The error wraps ErrInput when a setting makes no
// sense.
func NewDeadRun(cfg DeadConfig) (*DeadRun, error) {
	if err := cfg.Validate(); err != nil {
		return nil, err
	}
	return &DeadRun{cfg: cfg}, nil
}

// Add judges the next pick. A pick out of range is not added; the error wraps
// ErrInput.
func (r *DeadRun) Add(c DeadCheck) error {
	if err := c.validate(); err != nil {
		return err
	}
	m := deadMark{a: r.cfg.A0, b: r.cfg.B0, slowA: r.cfg.A0, slowB: r.cfg.B0}
	if n := len(r.marks); n > 0 {
		m = r.marks[n-1]
	}
	i := len(r.checks)
	m.day += c.Days
	for m.taught < i && m.taughtDay+r.checks[m.taught].Days <= m.day-r.cfg.GuardDays {
		old := r.checks[m.taught]
		m.taughtDay += old.Days
		r.teaches = append(r.teaches[:m.taught], r.cfg.taughtCount(old.Dead, &r.results[m.taught]))
		m.a += float64(r.teaches[m.taught]) / r.cfg.Phi
		m.b += r.results[m.taught].Expected / r.cfg.Phi
		m.taught++
	}
	for m.slowTaught < m.taught && m.slowDay+r.checks[m.slowTaught].Days <= m.day-r.cfg.ClockGuard {
		old := r.checks[m.slowTaught]
		m.slowDay += old.Days
		m.slowA += float64(r.teaches[m.slowTaught]) / r.cfg.Phi
		m.slowB += r.results[m.slowTaught].Expected / r.cfg.Phi
		m.slowTaught++
	}
	r.checks = append(r.checks, c)
	r.marks = append(r.marks, m)
	r.results = append(r.results, DeadResult{
		AtRisk: c.AtRisk, Expected: float64(c.AtRisk) * c.RateSum,
		A: m.a, B: m.b, P: [MaxWindow]float64{1, 1, 1},
	})
	r.cfg.judge(&r.results[i], r.checks, r.results, &m)
	return nil
}

// Grow makes room for n further picks, so that a whole season is judged without
// moving what was judged before.
func (r *DeadRun) Grow(n int) {
	r.checks, r.results, r.marks = slices.Grow(r.checks, n), slices.Grow(r.results, n), slices.Grow(r.marks, n)
	r.teaches = slices.Grow(r.teaches, n)
}

// Results are the answers for the picks so far, oldest first. Do not change
// them; the next Add or Cut may.
func (r *DeadRun) Results() []DeadResult { return r.results }

// Checks are the picks so far, oldest first. Do not change them; the next Add or Cut
// may.
func (r *DeadRun) Checks() []DeadCheck { return r.checks }

// Cut takes back all picks but the first n.
func (r *DeadRun) Cut(n int) {
	if n < len(r.checks) {
		r.checks, r.results, r.marks = r.checks[:n], r.results[:n], r.marks[:n]
	}
}
