package stats

import (
	"math"
)

// DepartureConfig holds the settings of the departure rule. Statistics are in
// spreads of the tank.
type DepartureConfig struct {
	Spread, SpreadWeight float64 // degrees, and how many readings that assumption is worth
	GuardDays            float64 // a reading teaches only when this old
	Memory               float64 // readings that are remembered
	Cap                  float64 // a reading teaches at most so many spreads
	Correlation          float64 // of neighbouring days
	Window               int     // longest run of readings in which a departure is looked for
	Stand                int     // longest run in which a rise is told from a new level

	Least   float64 // smallest departure that is spoken of, degrees
	Watch   float64 // statistic from which a departure is real
	Usual   float64 // added to it where the tank has no setpoint and its own usual stands in
	Level   float64 // act from here on when two spreads are taken off, degrees
	Rise    float64 // act when the water rises rather than stands: difference of squared statistics
	RiseMin float64 // smallest departure that is act, degrees

	// How much lower these are when nobody looks on the days to come.
	EveWatch, EveLevel, EveRise float64
}

// DefaultDepartureConfig returns the settings that were simulated (package sim):
// spreads of 0.15 to 0.6 degrees, correlation 0.2 to 0.8, steps of 0.1 to 1
// degree. No published figures exist.
func DefaultDepartureConfig() DepartureConfig {
	return DepartureConfig{
		Spread: 0.4, SpreadWeight: 8, GuardDays: 14, Memory: 40, Cap: 2.5, Correlation: 0.3, Window: 3, Stand: 12,
		Least: 0.8, Watch: 3.72, Usual: 1.6, Level: 2.8, Rise: 3.3, RiseMin: 1.8,
		EveWatch: 0.2, EveLevel: 0.3, EveRise: 0.8,
	}
}

const (
	usualMin   = 5 // readings that make a usual where there is no setpoint
	priorShift = 5 // readings that the assumption "no offset" is worth
	// Against a usual a rise is looked for over more days, where correlation counts more.
	usualCorrelation = 0.4
	spreadBend       = 0.3 // lively tanks are judged a little by degrees, not by spreads alone
	backSpread       = 1.0 // back in range within one spread ...
	backLeast        = 0.5 // ... or half a degree
	stepFits         = 0.95

	// A rise is told from a jump by its shape. Two looks show little of it, so more is
	// asked of them; so does a coarse thermometer of many, so less is asked of it (for
	// each degree of its step).
	shapeLooks, shapeAsked = 3, 3.0
	coarseRise, coarseMin  = 1.9, 0.2
)

// Look is one temperature as JudgeDepartures sees it.
type Look struct {
	Day     float64 // any zero, ascending
	Celsius float64
	Want    float64 // the setpoint; NaN where there is none
	Logger  bool    // a logger hangs elsewhere and has its own offset and spread
	Eve     bool    // nobody looks on the day after
}

// Departure is the verdict after one look.
type Departure struct {
	Flag      DeadFlag // DeadNone, DeadWatch or DeadAct: how urgent, not about deaths
	Away      float64  // from the setpoint and the instrument's offset, or from the usual; degrees
	Usual     float64  // what it is away from
	Spread    float64  // of the tank, degrees
	Statistic float64
	Since     int  // place of the first look of the departure
	Rising    bool // it goes on, rather than standing at another level
	Stricter  bool // raised, or act, only because nobody looks on the days to come
}

// DepartureRun judges looks as they come.
type DepartureRun struct {
	cfg      DepartureConfig
	teachers [2]teacher
	looks    []judged
	last     Departure // the verdict of the newest look
	taught   int
}

type judged struct {
	Look
	z, spread, phi float64
	ref            float64
	known          bool
}

// NewDepartureRun starts a season with room for n looks.
func NewDepartureRun(cfg DepartureConfig, n int) *DepartureRun {
	return &DepartureRun{cfg: cfg, looks: make([]judged, 0, n)}
}

// Len is the number of looks judged.
func (r *DepartureRun) Len() int { return len(r.looks) }

// Last is the verdict of the newest look.
func (r *DepartureRun) Last() Departure { return r.last }

// JudgeDepartures judges the looks of a season one after the other, oldest first.
//
// The departure of a look from the setpoint, less the instrument's own offset, is
// divided by the tank's spread. Both are learnt from looks at least GuardDays old,
// each of which teaches at most Cap spreads. Of the last 1 to Window looks
// together, a rise that began at the look before them is fitted by generalised
// least squares under first-order autoregression (days that nobody looked count);
// the statistic is the largest of the fits in standard errors, times
// (spread/Spread)^0.3. A fit of a sudden step is made beside it: where that explains
// the looks as well, the setpoint may have been changed, and only a large departure
// is act.
//
// Source: generalised likelihood ratio for a change (Lorden 1971, Annals of
// Mathematical Statistics 42:1897-1908, from memory); settings by simulation.
func JudgeDepartures(cfg DepartureConfig, looks []Look) []Departure {
	r, out := NewDepartureRun(cfg, len(looks)), make([]Departure, len(looks))
	for i, l := range looks {
		r.Add(l)
		out[i] = r.last
	}
	return out
}

// Add judges the next look.
func (r *DepartureRun) Add(l Look) {
	r.teach(l.Day)
	t := r.teacher(l.Logger)
	t.see(l.Celsius)
	j := judged{Look: l}
	j.ref, j.spread, j.known = r.reference(t, l)
	j.z = (l.Celsius - j.ref) / j.spread
	if n := len(r.looks); n > 0 {
		rho := r.cfg.Correlation
		if math.IsNaN(l.Want) {
			rho = usualCorrelation
		}
		switch gap := l.Day - r.looks[n-1].Day; gap {
		case 1: // most looks; powers are slow
			j.phi = rho
		default:
			j.phi = math.Pow(rho, math.Max(0.25, gap))
		}
	}
	if !j.known {
		j.z = 0
		if len(t.first) < usualMin {
			t.first = append(t.first, l.Celsius)
		}
	}
	r.looks = append(r.looks, j)
	r.last = r.verdict()
}

// verdict judges the newest look.
func (r *DepartureRun) verdict() Departure {
	i := len(r.looks) - 1
	j := &r.looks[i]
	d := Departure{Away: j.z * j.spread, Usual: j.ref, Spread: j.spread, Since: i}
	if !j.known {
		return d
	}
	away := math.Abs(d.Away)
	if away >= r.cfg.Least {
		r.judge(&d, away)
	}
	if i == 0 {
		return d
	}
	before := r.last
	if before.Flag == DeadNone {
		return d
	}
	same := before.Away*d.Away > 0
	sameDay := r.looks[i-1].Day == j.Day && r.looks[i-1].Logger != j.Logger
	switch {
	case same && away > math.Max(backLeast, backSpread*j.spread):
		d.Since = before.Since
		switch {
		case d.Flag < before.Flag:
			d.Flag, d.Stricter = before.Flag, before.Stricter
		case d.Flag == before.Flag:
			d.Stricter = d.Stricter && before.Stricter
		}
	case sameDay:
		// One look in the day does not undo what another instrument saw that day.
		keep := before
		keep.Spread = d.Spread
		return keep
	}
	return d
}

// judge fits a rise and a step to the newest looks and says how urgent it is.
func (r *DepartureRun) judge(d *Departure, away float64) {
	short, rise, step, since := r.fits()
	if math.IsNaN(r.looks[len(r.looks)-1].Want) {
		short = rise // a usual is known less well, so more looks are asked
	}
	d.Statistic = short * math.Pow(d.Spread/r.cfg.Spread, spreadBend)
	if d.Statistic*d.Away <= 0 {
		return
	}
	c, size := r.cfg, math.Abs(d.Statistic)
	j := &r.looks[len(r.looks)-1]
	watch := c.Watch
	if math.IsNaN(j.Want) {
		watch += c.Usual
	}
	more := rise*rise - step*step - shapeAsked*float64(max(0, shapeLooks-(len(r.looks)-since)))
	coarse := r.teacher(j.Logger).step()
	more, riseMin := more+coarseRise*coarse, c.RiseMin-coarseMin*coarse
	act := func(level, rising float64) bool {
		return away-2*d.Spread >= level || more >= rising && away >= riseMin
	}
	d.Rising = more >= c.Rise-c.EveRise
	switch {
	case size >= watch && act(c.Level, c.Rise):
		d.Flag = DeadAct
	case j.Eve && size >= watch && act(c.Level-c.EveLevel, c.Rise-c.EveRise):
		d.Flag, d.Stricter = DeadAct, true
	case size >= watch:
		d.Flag = DeadWatch
	case j.Eve && size >= watch-c.EveWatch:
		d.Flag, d.Stricter = DeadWatch, true
	}
	d.Since = since
}

// fits returns the largest fit, in standard errors, of a rise that began 1 to Window
// looks ago, and of a rise and a step that began 1 to Stand looks ago; since is the
// first look of that rise.
func (r *DepartureRun) fits() (short, rise, step float64, since int) {
	i := len(r.looks) - 1
	now := r.looks[i].Day
	var ea, eb, aa, ab, bb float64 // sums over the looks after the first
	for k := i; k >= 0 && i-k < r.cfg.Stand; k-- {
		j := &r.looks[k]
		if !j.known {
			break
		}
		phi, e, day, start := 0.0, j.z, j.Day-now, j.Day-now-1
		if k > 0 && r.looks[k-1].known {
			phi = j.phi
			e -= phi * r.looks[k-1].z
			start = r.looks[k-1].Day - now
		}
		w := 1 / (1 - phi*phi)
		x := math.Max(day-start, 0.25)
		num := x*e*w + ea - start*eb
		den := x*x*w + aa - 2*start*ab + start*start*bb
		if t := num / math.Sqrt(den); math.Abs(t) > math.Abs(rise) {
			rise, since = t, k
		}
		if i-k < r.cfg.Window {
			short = rise
		}
		if t := (e*w + eb) / math.Sqrt(w+bb); math.Abs(t) > math.Abs(step) {
			step = t
		}
		if k == 0 {
			break
		}
		a, b := day-phi*(r.looks[k-1].Day-now), 1-phi
		ea, eb = ea+w*e*a, eb+w*e*b
		aa, ab, bb = aa+w*a*a, ab+w*a*b, bb+w*b*b
	}
	return short, rise, step, since
}
