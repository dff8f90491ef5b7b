package words

import (
	"encoding/json"
	"strings"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/ui"
)

// FillFlags puts the flags of an assessment on the page of their tank: those that ask
// for attention, those set aside, and act flags that are over and not named.
func FillFlags(l assess.FlagLives, t *ui.TankPage, a *rules.Assessment, site logbook.Site) {
	staff := t.Role != logbook.Class
	for i := range a.Flags {
		f := &a.Flags[i]
		item := ui.FlagItem{Flag: *f, Back: ui.SeasonPath(a.SeasonID)}
		if staff && f.Rule == rules.CheckMissing {
			item.ClosedHref = ui.SitePath(site.ID, "/closed-days/new")
		}
		k := l.Of(f)
		if k != nil {
			item.ID, item.Lines = string(k.ID), LifeLines(t.P, k, site, a.On)
			item.Aside = l.Aside(f, a.On)
			item.CanSee = staff && l.ToSee(f)
			item.CanShelve = staff && !item.Aside && f.Kind != rules.Note && f.ShelveDays > 0
			item.CanUnshelve = staff && item.Aside
			item.CanFind = staff && k.AskFinding() && !item.CanSee
			if line, ok := FindingLine(l.Found, t.P, k.ID, site); ok {
				item.Lines = append(item.Lines, line)
			}
		}
		if item.Aside {
			t.Aside = append(t.Aside, item)
		} else {
			t.Flags = append(t.Flags, item)
			if l.ToSee(f) {
				t.Unseen++
			}
		}
	}
	for _, k := range l.Ended {
		t.EndedFlags = append(t.EndedFlags, endedFlag(t.P, k, site, staff))
	}
}

func endedFlag(p *i18n.Printer, k *store.Flag, site logbook.Site, staff bool) ui.EndedFlag {
	return ui.EndedFlag{ID: string(k.ID), Kind: rules.Kind(k.Kind), Text: SaidThen(p, k.Rule, k.Args), CanFind: staff,
		Why: EndText(p, k.EndWhy, k.EndIn),
		When: p.T("flag.ended_span", logbook.Args{"From": AtSite(p, site, k.RaisedAt),
			"To": AtSite(p, site, k.ClearedAt)})}
}

// LifeLines says when a flag was raised, who has seen it, and that it is set
// aside until when, by whom and why.
func LifeLines(p *i18n.Printer, k *store.Flag, site logbook.Site, today civil.Date) []string {
	lines := []string{p.T("flag.raised", logbook.Args{"At": AtSite(p, site, k.RaisedAt)})}
	switch {
	case !k.SeenAt.IsZero():
		lines = append(lines, p.T("flag.seen_by", logbook.Args{"By": k.SeenBy, "At": AtSite(p, site, k.SeenAt)}))
	case k.ToSee():
		lines = append(lines, p.T("flag.unseen"))
	}
	if k.ShelvedOn(today) {
		key := "flag.aside_until"
		if k.ShelvedOnce {
			key = "flag.aside_once"
		}
		lines = append(lines,
			p.T(key, logbook.Args{"Until": p.DateShort(k.ShelvedUntil), "By": k.ShelvedBy,
				"Count": k.ShelvedUntil.Sub(today) + 1}),
			p.T("flag.aside_reason", logbook.Args{"Reason": k.ShelveReason}))
	}
	return lines
}

// AtSite writes an instant as day and time on the wall of a site.
func AtSite(p *i18n.Printer, site logbook.Site, at time.Time) string {
	local := at.In(site.Location())
	return p.DateShort(civil.In(at, site.Location())) + ", " + local.Format("15:04")
}

func readWord(kind string, raw json.RawMessage) (any, bool) {
	switch kind {
	case "text":
		return readAs[string](raw)
	case "count":
		return readAs[int](raw)
	case "number":
		return readAs[float64](raw)
	case "celsius":
		return readAs[units.Celsius](raw)
	case "celsius_delta":
		return readAs[units.CelsiusDelta](raw)
	case "mg_l":
		return readAs[units.MgPerL](raw)
	case "date":
		return readAs[civil.Date](raw)
	case "stage":
		return readAs[logbook.Stage](raw)
	case "daily":
		v, ok := readAs[logbook.DailyCounts](raw)
		if c, is := v.(logbook.DailyCounts); is {
			c.Today = civil.Date{} // "today" was another day
			v = c
		}
		return v, ok
	case "weekday":
		return readAs[time.Weekday](raw)
	}
	return nil, false
}

func readAs[T any](raw json.RawMessage) (any, bool) {
	var v T
	err := json.Unmarshal(raw, &v)
	return v, err == nil
}

// SaidNow writes what the rules say today of a flag, or what it said when it was
// raised once they are silent about it.
func SaidNow(p *i18n.Printer, today assess.Spoken, f *store.Flag) string {
	if now := today.Of(f); now != nil {
		return p.T(now.Headline.Key, now.Headline.Args)
	}
	return SaidThen(p, f.Rule, f.Args)
}

// SaidThen writes what a flag said when it was raised with its kind; the name of
// its rule when that is not known any more.
func SaidThen(p *i18n.Printer, rule string, args json.RawMessage) string {
	var k assess.StoredWords
	if json.Unmarshal(args, &k) != nil || k.Headline == "" {
		return RuleName(p, rule)
	}
	said := logbook.Args{}
	for name, raw := range k.Args {
		v, ok := readWord(k.Kinds[name], raw)
		if !ok {
			return RuleName(p, rule)
		}
		said[name] = v
	}
	// Flags of before each day was told apart keep a sum.
	if _, told := said["Each"]; !told && strings.HasPrefix(k.Headline, "rule.dead_count.headline") {
		return p.T("rule.dead_count.former", said)
	}
	return p.T(k.Headline, said)
}

func RuleName(p *i18n.Printer, rule string) string {
	for _, r := range rules.All() {
		if r.ID == rule {
			return p.T(r.Name.Key)
		}
	}
	return rule
}

// FindingLine says what was found of a flag; ok is false when nobody has said it.
func FindingLine(fs assess.Findings, p *i18n.Printer, id logbook.ID, site logbook.Site) (line string, ok bool) {
	f := fs[id]
	if f == nil {
		return "", false
	}
	args := logbook.Args{"What": p.T("flag.finding." + string(f.What)), "By": f.By, "At": AtSite(p, site, f.At),
		"Note": f.Note}
	if f.Note == "" {
		return p.T("flag.finding.line", args), true
	}
	return p.T("flag.finding.line_note", args), true
}
