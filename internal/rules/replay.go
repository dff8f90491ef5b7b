package rules

import (
	"runtime"
	"slices"
	"strings"
	"sync"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// ReplayOptions say how past seasons are run through again.
type ReplayOptions struct {
	// Until tells the last day of a season that has not closed, by the wall of its
	// own school; nil or a zero day takes the last day with an entry. It is called
	// from several goroutines.
	Until func(*logbook.Season) civil.Date
	// Incidents are what is known to have happened in each season, in the order of
	// the seasons. Nil when nothing is known: then no alarm is called false.
	Incidents [][]Incident
	// Quiet are the stretches in which people looked into a flag and found nothing
	// wrong, in the order of the seasons. With it only what people have judged is
	// called false, and the rest is counted as not judged. Nil when everything
	// outside the incidents is known to have been well, as in a simulation.
	Quiet [][]Incident
	// Grace is for how many days after an incident its flags still belong to it.
	Grace int
}

// Incident is something that is known to have happened to a tank: from a
// simulation, or confirmed by people.
type Incident struct {
	From, To civil.Date // last day included; zero To means one day
	Family   Family     // whose rules should tell it: temperature, equipment, water or dead; "" for any of them
	Rule     string     // of a quiet stretch: whose flag was looked into
}

// Episode is one flag from the day it was raised to the day it cleared.
type Episode struct {
	Season        int // place in the seasons given
	Rule, Subject string
	Kind          Kind       // the most urgent it had
	Raised        civil.Date // first day
	Acted         civil.Date // first day on which its kind was act; zero for none
	Cleared       civil.Date // first day without it; zero when the replay ends before
	Days          int
	False         bool // act or watch while nothing was wrong, as far as is known
}

// Report is what a set of rules would have raised over past seasons.
type Report struct {
	Seasons  int
	Days     int       // days with fish
	Episodes []Episode // by season, then by day
	Rules    []RuleCount
	Judged   bool // incidents were given, so that the figures below mean something
	Alarms   AlarmFigures
}

// RuleCount counts the episodes of a rule by their most urgent kind.
type RuleCount struct {
	Rule                    string
	Act, Watch, Due, Note   int
	Seasons                 int // with an episode
	Days                    int // over all episodes
	FalseActs, FalseWatches int
}

// AlarmFigures say how well act and watch agree with what is known.
type AlarmFigures struct {
	FalseActs, FalseWatches int
	NotJudged               int // act and watch of which nobody said what was behind them
	Incidents               int
	ToldByAct               int   // incidents with an act while they lasted
	ToldByWatch             int   // with an act or a watch
	ActDelays, WatchDelays  []int // days from the incident's first day, told ones only, ascending
}

// PerSeason divides by the number of seasons; 0 without seasons.
func (r *Report) PerSeason(n int) float64 {
	if r.Seasons == 0 {
		return 0
	}
	return float64(n) / float64(r.Seasons)
}

// Merge adds the report of more seasons, whose places follow those of r.
func (r *Report) Merge(o Report) {
	for _, e := range o.Episodes {
		e.Season += r.Seasons
		r.Episodes = append(r.Episodes, e)
	}
	r.Seasons, r.Days, r.Judged = r.Seasons+o.Seasons, r.Days+o.Days, r.Judged || o.Judged
	g, h := &r.Alarms, &o.Alarms
	g.FalseActs, g.FalseWatches, g.Incidents = g.FalseActs+h.FalseActs, g.FalseWatches+h.FalseWatches,
		g.Incidents+h.Incidents
	g.NotJudged += h.NotJudged
	g.ToldByAct, g.ToldByWatch = g.ToldByAct+h.ToldByAct, g.ToldByWatch+h.ToldByWatch
	g.ActDelays, g.WatchDelays = append(g.ActDelays, h.ActDelays...), append(g.WatchDelays, h.WatchDelays...)
	slices.Sort(g.ActDelays)
	slices.Sort(g.WatchDelays)
	r.Rules = countRules(r.Episodes)
}

// Differences lists the episodes that only one of two reports of the same seasons
// has: those that overlap none of the same rule, subject and kind in the other.
func Differences(x, y *Report) (onlyX, onlyY []Episode) {
	return onlyIn(x.Episodes, y.Episodes), onlyIn(y.Episodes, x.Episodes)
}

func onlyIn(x, y []Episode) (out []Episode) {
	type place struct {
		season        int
		rule, subject string
		kind          Kind
	}
	at := map[place][]*Episode{}
	for i := range y {
		p := place{y[i].Season, y[i].Rule, y[i].Subject, y[i].Kind}
		at[p] = append(at[p], &y[i])
	}
	for i := range x {
		e := &x[i]
		overlaps := func(o *Episode) bool {
			return (o.Cleared.IsZero() || o.Cleared.After(e.Raised)) &&
				(e.Cleared.IsZero() || e.Cleared.After(o.Raised))
		}
		if !slices.ContainsFunc(at[place{e.Season, e.Rule, e.Subject, e.Kind}], overlaps) {
			out = append(out, *e)
		}
	}
	return out
}

// Count is how many episodes were of a kind at their most urgent.
func (r *Report) Count(k Kind) int {
	n := 0
	for i := range r.Episodes {
		if r.Episodes[i].Kind == k {
			n++
		}
	}
	return n
}

// Replay runs a set of rules over past seasons day by day, each day with what the
// log holds up to it, and says what would have been raised when. A row counts
// from the day that it is about, also when it was entered or corrected later. The
// forecast of a day is the one of that day, from the tank's own log: what other
// tanks of the lot had shown is left out. The seasons are only read.
func Replay(seasons []*logbook.Season, p *Profile, o ReplayOptions) Report {
	if p == nil {
		p = StockProfile()
	}
	days, found := make([]int, len(seasons)), make([][]Episode, len(seasons))
	var wait sync.WaitGroup
	workers := min(runtime.GOMAXPROCS(0), len(seasons))
	for w := range workers {
		wait.Go(func() {
			for i := w; i < len(seasons); i += workers {
				days[i], found[i] = replaySeason(seasons[i], p, o.Until)
				for k := range found[i] {
					found[i][k].Season = i
				}
			}
		})
	}
	wait.Wait()
	r := Report{Seasons: len(seasons), Judged: o.Incidents != nil}
	families := judgedFamilies()
	for i, e := range found {
		if r.Judged {
			var quiet []Incident
			if o.Quiet != nil {
				quiet = o.Quiet[i]
			}
			r.Alarms.judge(e, o.Incidents[i], quiet, o, families)
		}
		r.Days += days[i]
		r.Episodes = append(r.Episodes, e...)
	}
	r.Rules = countRules(r.Episodes)
	return r
}

// replaySeason runs through one season.
func replaySeason(s *logbook.Season, p *Profile, until func(*logbook.Season) civil.Date) (days int, all []Episode) {
	if len(s.Deliveries) == 0 {
		return 0, nil
	}
	a := newTrack(s, p)
	last := lastOn(s)
	if !s.ClosedOn.IsZero() {
		last = s.ClosedOn
	} else if until != nil {
		if d := until(s); !d.IsZero() {
			last = d
		}
	}
	var open []int
	for d := a.track.whole.StartedOn(); !d.After(last); d = d.AddDays(1) {
		a.moveTo(d)
		a.judge()
		if a.out.Active {
			days++
		}
		open, all = follow(open, all, a.out.Flags, d)
	}
	return days, all
}

// follow carries the episodes on by one day. open holds the places of those that
// go on.
func follow(open []int, all []Episode, flags []Flag, d civil.Date) ([]int, []Episode) {
	still := open[:0]
	for _, i := range open {
		e := &all[i]
		k := slices.IndexFunc(flags, func(f Flag) bool { return f.Rule == e.Rule && f.Subject == e.Subject })
		if k < 0 {
			e.Cleared = d
			continue
		}
		e.add(flags[k].Kind, d)
		still = append(still, i)
	}
	for i := range flags {
		f := &flags[i]
		if slices.ContainsFunc(still, func(k int) bool {
			return all[k].Rule == f.Rule &&
				all[k].Subject == f.Subject
		}) {
			continue
		}
		all = append(all, Episode{Rule: f.Rule, Subject: f.Subject, Kind: f.Kind, Raised: d})
		all[len(all)-1].add(f.Kind, d)
		still = append(still, len(all)-1)
	}
	return still, all
}

func (e *Episode) add(k Kind, d civil.Date) {
	e.Days++
	if k.Order() < e.Kind.Order() {
		e.Kind = k
	}
	if k == Act && e.Acted.IsZero() {
		e.Acted = d
	}
}

// countRules counts the episodes by rule, the noisiest first.
func countRules(all []Episode) []RuleCount {
	at := map[string]int{}
	lastSeason := map[string]int{}
	var out []RuleCount
	for i := range all {
		e := &all[i]
		k, known := at[e.Rule]
		if !known {
			k = len(out)
			at[e.Rule], lastSeason[e.Rule] = k, -1
			out = append(out, RuleCount{Rule: e.Rule})
		}
		c := &out[k]
		switch e.Kind {
		case Act:
			c.Act++
		case Watch:
			c.Watch++
		case Due:
			c.Due++
		default:
			c.Note++
		}
		if e.False && e.Kind == Act {
			c.FalseActs++
		} else if e.False {
			c.FalseWatches++
		}
		c.Days += e.Days
		if lastSeason[e.Rule] != e.Season {
			lastSeason[e.Rule] = e.Season
			c.Seasons++
		}
	}
	slices.SortFunc(out, func(x, y RuleCount) int {
		if n := (y.Act + y.Watch + y.Due + y.Note) - (x.Act + x.Watch + x.Due + x.Note); n != 0 {
			return n
		}
		return strings.Compare(x.Rule, y.Rule)
	})
	return out
}
