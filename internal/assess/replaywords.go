package assess

import (
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// ReplayTable is what one set of limits raises, by rule.
type ReplayTable struct {
	Title                           string
	Rows                            []ReplayRow
	ActsPerSeason, WatchesPerSeason float64
	// Judged says that people told what was behind some flags; the figures are in
	// Verdict.
	Judged  bool
	Verdict string
}

// ReplayRow counts the flags of one rule by their most urgent kind.
type ReplayRow struct {
	Rule, Name              string
	Act, Watch, Due, Note   int
	Seasons, Days           int
	FalseActs, FalseWatches int
}

// ReplayList is flags by their days.
type ReplayList struct {
	Title string
	Rows  []ReplayEpisode
}

// ReplayEpisode is one flag from its first day to the first day without it.
type ReplayEpisode struct {
	Raised, Cleared  string
	Kind, Rule, Name string
	Tank             string
	SeasonID         logbook.ID
	RaisedOn         civil.Date
	KindOf           rules.Kind
}

// Tables lists the counts: with the limits in use, and with the changed ones.
func (a *ReplayAnswer) Tables(p *i18n.Printer) []ReplayTable {
	out := []ReplayTable{replayTable(p, "replay.in_use", &a.InUse)}
	if a.Changed != nil {
		out = append(out, replayTable(p, "replay.changed", a.Changed))
	}
	return out
}

func replayTable(p *i18n.Printer, title string, r *rules.Report) ReplayTable {
	t := ReplayTable{Title: p.T(title), ActsPerSeason: r.PerSeason(r.Count(rules.Act)),
		WatchesPerSeason: r.PerSeason(r.Count(rules.Watch))}
	if t.Judged = r.Judged; t.Judged {
		t.Verdict = replayVerdict(p, &r.Alarms)
	}
	for _, c := range r.Rules {
		t.Rows = append(t.Rows, ReplayRow{Rule: c.Rule, Name: p.T("rule." + c.Rule + ".name"), Act: c.Act,
			Watch: c.Watch, Due: c.Due, Note: c.Note,
			Seasons: c.Seasons, Days: c.Days, FalseActs: c.FalseActs, FalseWatches: c.FalseWatches})
	}
	return t
}

// replayVerdict says how act and watch agree with what people found.
func replayVerdict(p *i18n.Printer, g *rules.AlarmFigures) string {
	said := p.T("replay.verdict", logbook.Args{"FalseActs": g.FalseActs, "FalseWatches": g.FalseWatches,
		"NotJudged": g.NotJudged,
		"Count":     g.Incidents, "ByAct": g.ToldByAct, "ByWatch": g.ToldByWatch})
	if days, ok := rules.MedianDelay(g.WatchDelays); ok {
		said += " " + p.T("replay.delay", logbook.Args{"Count": days})
	}
	return said
}

// All lists every flag that the limits in use raise.
func (a *ReplayAnswer) All(p *i18n.Printer) []ReplayList {
	return []ReplayList{a.list(p, "replay.all", a.InUse.Episodes)}
}

// Different lists the flags that only one of the two sets of limits raises;
// nothing without changed limits.
func (a *ReplayAnswer) Different(p *i18n.Printer) []ReplayList {
	if a.Changed == nil {
		return nil
	}
	gone, fresh := rules.Differences(&a.InUse, a.Changed)
	return []ReplayList{a.list(p, "replay.gone", gone), a.list(p, "replay.new", fresh)}
}

func (a *ReplayAnswer) list(p *i18n.Printer, title string, all []rules.Episode) ReplayList {
	l := ReplayList{Title: p.T(title, logbook.Args{"Count": len(all)})}
	for i := range all {
		e := &all[i]
		s := a.Seasons[e.Season]
		row := ReplayEpisode{Raised: p.Date(e.Raised), Cleared: p.T("replay.still"), Kind: p.T(e.Kind.MessageKey()),
			Rule: e.Rule,
			Name: p.T("rule." + e.Rule + ".name"), Tank: s.Tank + ", " + s.Site + ", " + s.Label, SeasonID: s.ID,
			RaisedOn: e.Raised, KindOf: e.Kind}
		if !e.Cleared.IsZero() {
			row.Cleared = p.Date(e.Cleared)
		}
		l.Rows = append(l.Rows, row)
	}
	return l
}
