package flags

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// flagLoadRoutes is the page on how much the flags ask of people.
func (s *Service) flagLoadRoutes(r chi.Router) { r.Get("/flags/load", s.Page(s.flagLoadShow)) }

// Settings of the load page. The first two are local choices: the benchmarks of
// control rooms (EEMUA 191: at most one alarm in ten minutes) are for people who
// do nothing else, and no target for one who looks once a day.
const (
	loadDays     = 30
	actsPerVisit = 5.0 // open act flags of a coordinator in a morning,
	visitSites   = 20  // with so many schools
	staleAfter   = 24 * time.Hour
	noisiest     = 10
)

// flagLoad are the sums behind the page.
type flagLoad struct {
	days                     int // looked back
	sites                    int
	openAct, openActUnseen   int
	raised                   []store.PlacedFlag // within the days
	open, stale, aside       []store.PlacedFlag
	spoken                   assess.Spoken // what the rules say today
	byRule, bySite           map[string]int
	cameWent                 map[string]int // by rule: raised again within a day of its end
	kinds                    map[rules.Kind]int
	kindsOpen, unseenByState map[rules.Kind]int
	found                    map[store.FindingKind]int // of act and watch; "" when nobody has said it
}

// judge counts what people found behind the flags of the last days.
func (l *flagLoad) judge(found assess.Findings) {
	l.found = map[store.FindingKind]int{}
	for i := range l.raised {
		switch f := &l.raised[i]; {
		case !f.AskFinding():
		case found[f.ID] == nil:
			l.found[""]++
		default:
			l.found[found[f.ID].What]++
		}
	}
}

// sumLoad adds up flags raised within the last days before now.
func sumLoad(all []store.PlacedFlag, now time.Time, days assess.ZoneDays) flagLoad {
	l := flagLoad{days: loadDays, byRule: map[string]int{}, bySite: map[string]int{}, cameWent: map[string]int{},
		kinds: map[rules.Kind]int{}, kindsOpen: map[rules.Kind]int{}, unseenByState: map[rules.Kind]int{}}
	from := now.AddDate(0, 0, -loadDays)
	type place struct {
		season        logbook.ID
		rule, subject string
	}
	ended := map[place]time.Time{} // all is newest first, so look from the end
	for i := len(all) - 1; i >= 0; i-- {
		f := &all[i]
		p := place{f.SeasonID, f.Rule, f.Subject}
		kind := rules.Kind(f.Kind)
		if !f.RaisedAt.Before(from) {
			l.raised = append(l.raised, *f)
			l.kinds[kind]++
			if kind == rules.Act || kind == rules.Watch {
				l.byRule[f.Rule]++
				l.bySite[f.SiteName]++
			}
			if last, ok := ended[p]; ok && f.RaisedAt.Sub(last) < 24*time.Hour {
				l.cameWent[f.Rule]++
			}
		}
		if !f.Open() {
			ended[p] = f.ClearedAt
			continue
		}
		l.countOpen(f, now, days)
	}
	return l
}

func (l *flagLoad) countOpen(f *store.PlacedFlag, now time.Time, days assess.ZoneDays) {
	kind := rules.Kind(f.Kind)
	if f.ShelvedOn(days.Today(f.Zone)) {
		l.aside = append(l.aside, *f)
		return
	}
	l.open = append(l.open, *f)
	l.kindsOpen[kind]++
	if f.ToSee() {
		l.unseenByState[kind]++
	}
	if kind == rules.Act || kind == rules.Watch {
		if now.Sub(f.RaisedAt) > staleAfter {
			l.stale = append(l.stale, *f)
		}
	}
	if kind == rules.Act {
		l.openAct++
		if f.ToSee() {
			l.openActUnseen++
		}
	}
}

func (s *Service) flagLoadShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	all, err := s.DB.PlacedFlags(r.Context(), store.FlagFilter{From: v.Now.AddDate(0, 0, -loadDays-1)})
	if err != nil {
		return err
	}
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	l := sumLoad(all, v.Now, assess.ZoneDays{Now: v.Now, Days: map[string]civil.Date{}})
	told, err := s.DB.Findings(r.Context(), "")
	if err != nil {
		return err
	}
	if l.spoken, err = s.Assess.Spoken(r.Context(), v.Actor, v.Now); err != nil {
		return err
	}
	l.sites = len(sites)
	l.judge(assess.NewestFindings(told))
	m := FlagLoad{Page: s.NewPage(r, "flag.load.title", "flags"),
		Intro: v.P.T("flag.load.intro", logbook.Args{"Days": l.days})}
	m.Styles = []string{"pieces.css", "tank.css", "flags.css"}
	m.Facts, m.Tables = loadFacts(v.P, &l), loadTables(v.P, &l, v.Now)
	return s.Render(w, r, http.StatusOK, FlagLoadPage(m))
}

// target is the own target for the schools of this programme.
func (l *flagLoad) target() float64 { return actsPerVisit * float64(max(l.sites, 1)) / visitSites }

func loadFacts(p *i18n.Printer, l *flagLoad) []ui.Fact {
	fact := func(key string, args logbook.Args) ui.Fact {
		return ui.Fact{Label: p.T(key), Value: p.T(key+"_value", args)}
	}
	verdict := "flag.load.within"
	if float64(l.openAct) > l.target() {
		verdict = "flag.load.above"
	}
	// With fewer than 20 schools the target is still at least one flag.
	return []ui.Fact{
		fact("flag.load.acts", logbook.Args{"Open": l.openAct, "Unseen": l.openActUnseen, "Verdict": p.T(verdict),
			"Target":  p.Num(max(l.target(), 1), 0),
			"Schools": l.sites}),
		fact("flag.load.per_day", logbook.Args{"Rate": p.Num(float64(l.kinds[rules.Act]+
			l.kinds[rules.Watch])/float64(l.days), 2),
			"PerSchool": p.Num(float64(l.kinds[rules.Act]+l.kinds[rules.Watch])/float64(l.days)/float64(max(l.sites,
				1)), 3)}),
		fact("flag.load.now", logbook.Args{"Act": l.kindsOpen[rules.Act], "Watch": l.kindsOpen[rules.Watch],
			"Due":  l.kindsOpen[rules.Due],
			"Note": l.kindsOpen[rules.Note], "Aside": len(l.aside)}),
		fact("flag.load.mix", mixArgs(p, l)),
		fact("flag.load.found", logbook.Args{"Real": l.found[store.FoundReal], "Nothing": l.found[store.FoundNothing],
			"Unsure": l.found[store.FoundUnsure], "Open": l.found[""]}),
	}
}

// mixArgs compares the mix of urgency with the benchmark of 5 % high, 15 %
// medium and 80 % low (EEMUA and ASM, as quoted in public texts, read).
func mixArgs(p *i18n.Printer, l *flagLoad) logbook.Args {
	act, watch, low := l.kinds[rules.Act], l.kinds[rules.Watch], l.kinds[rules.Due]+l.kinds[rules.Note]
	total := float64(max(act+watch+low, 1))
	share := func(n int) string { return p.Num(100*float64(n)/total, 0) }
	return logbook.Args{"Act": share(act), "Watch": share(watch), "Low": share(low)}
}

func loadTables(p *i18n.Printer, l *flagLoad, now time.Time) []LoadTable {
	total := 0
	for _, n := range l.byRule {
		total += n
	}
	col := func(key string, number bool) ui.DataColumn { return ui.DataColumn{Label: p.T(key), Number: number} }
	table := func(name string, t ui.DataTable, args logbook.Args) LoadTable {
		t.Caption = p.T("flag.load." + name)
		return LoadTable{Title: t.Caption, Note: p.T("flag.load."+name+"_note", args), Table: t,
			Empty: p.T("flag.load.none")}
	}
	noisy := ui.DataTable{Columns: []ui.DataColumn{col("flag.col.rule", false), col("flag.col.number", true),
		col("flag.col.share", true), col("flag.col.came_went", true)}}
	top := 0
	for i, c := range ranked(l.byRule) {
		if i == noisiest {
			break
		}
		top += c.n
		noisy.Rows = append(noisy.Rows, []string{words.RuleName(p, c.name), p.Count(c.n),
			p.T("format.percent", map[string]any{"Value": p.Num(100*float64(c.n)/float64(max(total, 1)), 0)}),
			p.Count(l.cameWent[c.name])})
	}
	sites := ui.DataTable{Columns: []ui.DataColumn{col("flag.col.site", false), col("flag.col.number", true),
		col("flag.col.per_day", true)}}
	for _, c := range ranked(l.bySite) {
		sites.Rows = append(sites.Rows, []string{c.name, p.Count(c.n), p.Num(float64(c.n)/float64(l.days), 2)})
	}
	share := p.Num(100*float64(top)/float64(max(total, 1)), 0)
	return []LoadTable{
		table("noisy", noisy, logbook.Args{"Share": share, "Rules": min(noisiest, len(l.byRule))}),
		table("sites", sites, nil),
		table("chatter", chatterTable(p, l, col), nil),
		table("stale", placedTable(p, l.spoken, l.stale, col, now, false), nil),
		table("aside", placedTable(p, l.spoken, l.aside, col, now, true), nil),
	}
}

func chatterTable(p *i18n.Printer, l *flagLoad, col func(string, bool) ui.DataColumn) ui.DataTable {
	t := ui.DataTable{Columns: []ui.DataColumn{col("flag.col.rule", false), col("flag.col.number", true)}}
	for _, c := range ranked(l.cameWent) {
		t.Rows = append(t.Rows, []string{words.RuleName(p, c.name), p.Count(c.n)})
	}
	return t
}

// placedTable lists flags with their age, and with the end and reason of their
// rest when they are set aside.
func placedTable(p *i18n.Printer, spoken assess.Spoken, list []store.PlacedFlag, col func(string, bool) ui.DataColumn,
	now time.Time, aside bool) ui.DataTable {
	t := ui.DataTable{Columns: []ui.DataColumn{col("flag.col.tank", false), col("flag.col.flag", false),
		col("flag.col.age", true), col("flag.col.seen", false)}}
	if aside {
		t.Columns = append(t.Columns, col("flag.col.until", false), col("flag.col.reason", false))
	}
	for i := range list {
		f := &list[i]
		seen := p.T("flag.nobody")
		if !f.SeenAt.IsZero() {
			seen = f.SeenBy
		}
		row := []string{f.TankName + ", " + f.SiteName, words.SaidNow(p, spoken, &f.Flag),
			p.T("flag.days", logbook.Args{"Count": int(now.Sub(f.RaisedAt).Hours() / 24)}), seen}
		if aside {
			row = append(row, p.DateShort(f.ShelvedUntil), f.ShelveReason)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

type counted struct {
	name string
	n    int
}

// ranked orders counts, largest first, then by name.
func ranked(m map[string]int) []counted {
	out := make([]counted, 0, len(m))
	for name, n := range m {
		out = append(out, counted{name, n})
	}
	slices.SortFunc(out, func(a, b counted) int { return cmp.Or(b.n-a.n, cmp.Compare(a.name, b.name)) })
	return out
}
