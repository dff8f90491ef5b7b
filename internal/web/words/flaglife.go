package words

import (
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/ui"
)

// FillFlags puts the flags of an assessment on the page of their tank: those that ask
// for attention, those set aside, and act flags that are over and not named.
func FillFlags(l assess.FlagLives, t *ui.TankPage, a *rules.Assessment, site logbook.Site) {
	staff := t.Role != logbook.Class
	for i := range a.Flags {
		f := &a.Flags[i]
		item := ui.FlagItem{Flag: *f, Back: "/seasons/" + string(a.SeasonID)}
		if staff && f.Rule == RuleCheckMissing {
			item.ClosedHref = "/sites/" + string(site.ID) + "/closed-days/new"
		}
		k := l.Of(f)
		if k != nil {
			item.ID, item.Lines = string(k.ID), LifeLines(t.P, k, site, a.On)
			item.Aside = l.Aside(f, a.On)
			item.CanSee = staff && l.ToSee(f)
			item.CanAside = staff && !item.Aside && f.Kind != rules.Note && f.SetAsideDays > 0
			item.CanWake = staff && item.Aside
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
		Why: EndText(p, k.EndWhy, k.EndIn), When: p.T("flag.ended_span", logbook.Args{"From": AtSite(p, site, k.RaisedAt), "To": AtSite(p, site, k.ClearedAt)})}
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
	if k.AsideOn(today) {
		key := "flag.aside_until"
		if k.SetAsideOnce {
			key = "flag.aside_once"
		}
		lines = append(lines,
			p.T(key, logbook.Args{"Until": p.DateShort(k.SetAsideUntil), "By": k.SetAsideBy, "Count": k.SetAsideUntil.Sub(today) + 1}),
			p.T("flag.aside_reason", logbook.Args{"Reason": k.SetAsideReason}))
	}
	return lines
}

// AtSite writes an instant as day and time on the wall of a site.
func AtSite(p *i18n.Printer, site logbook.Site, at time.Time) string {
	local := at.In(site.Location())
	return p.DateShort(civil.In(at, site.Location())) + ", " + local.Format("15:04")
}
