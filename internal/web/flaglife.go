package web

import (
	"time"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// flagLives is the stored life of the flags of a season.
type flagLives struct {
	open  map[flagPlace]*store.Flag
	ended []*store.Flag // ended before anybody had seen them
	found findings
}

func livesOf(flags []store.Flag) flagLives {
	l := flagLives{open: make(map[flagPlace]*store.Flag, len(flags))}
	for i := range flags {
		f := &flags[i]
		if f.Open() {
			l.open[flagPlace{rule: f.Rule, subject: f.Subject}] = f
		} else if f.ToSee() {
			l.ended = append(l.ended, f)
		}
	}
	return l
}

// of returns the life of a flag, nil before it is stored.
func (l flagLives) of(f *rules.Flag) *store.Flag {
	return l.open[flagPlace{rule: f.Rule, subject: f.Subject}]
}

// aside reports whether a flag is set aside on a day. One that became more
// urgent is not, even before that is stored.
func (l flagLives) aside(f *rules.Flag, on civil.Date) bool {
	k := l.of(f)
	return k != nil && k.AsideOn(on) && f.Kind.Order() >= rules.Kind(k.SetAsideKind).Order()
}

// toSee reports whether somebody still has to look at a flag.
func (l flagLives) toSee(f *rules.Flag) bool {
	if f.Kind != rules.Act && f.Kind != rules.Watch {
		return false
	}
	k := l.of(f)
	return k == nil || k.ToSee() || (k.SeenKind != "" && f.Kind.Order() < rules.Kind(k.SeenKind).Order())
}

// awaken gives an assessment the status of the flags that are not set aside, and
// tells how many are set aside and not seen.
//
// A tank whose only act flag is set aside does not ask for action: somebody has
// decided, said why, and for how long. It is never silent about it: the board
// and the tank's page say how many flags are set aside.
func (l flagLives) awaken(a *rules.Assessment) (aside, unseen int) {
	a.Status = a.StatusWithout(func(f *rules.Flag) bool { return l.aside(f, a.On) })
	for i := range a.Flags {
		f := &a.Flags[i]
		switch {
		case l.aside(f, a.On):
			aside++
		case l.toSee(f):
			unseen++
		}
	}
	return aside, unseen
}

// fillFlags puts the flags of an assessment on the page of their tank: those that ask
// for attention, those set aside, and those that ended unseen.
func fillFlags(l flagLives, t *view.TankPage, a *rules.Assessment, site logbook.Site) {
	staff := t.Role != logbook.Class
	for i := range a.Flags {
		f := &a.Flags[i]
		item := view.FlagItem{Flag: *f, Back: "/seasons/" + string(a.SeasonID)}
		if staff && f.Rule == ruleCheckMissing {
			item.ClosedHref = "/sites/" + string(site.ID) + "/closed-days/new"
		}
		k := l.of(f)
		if k != nil {
			item.ID, item.Lines = string(k.ID), lifeLines(t.P, k, site, a.On)
			item.Aside = l.aside(f, a.On)
			item.CanSee = staff && l.toSee(f)
			item.CanAside = staff && !item.Aside && f.Kind != rules.Note && f.SetAsideDays > 0
			item.CanWake = staff && item.Aside
			item.CanFind = staff && k.AskFinding() && !item.CanSee
			if line, ok := findingLine(l.found, t.P, k.ID, site); ok {
				item.Lines = append(item.Lines, line)
			}
		}
		if item.Aside {
			t.Aside = append(t.Aside, item)
		} else {
			t.Flags = append(t.Flags, item)
			if l.toSee(f) {
				t.Unseen++
			}
		}
	}
	for _, k := range l.ended {
		t.EndedFlags = append(t.EndedFlags, endedFlag(t.P, k, site, staff))
	}
}

func endedFlag(p *i18n.Printer, k *store.Flag, site logbook.Site, staff bool) view.EndedFlag {
	return view.EndedFlag{ID: string(k.ID), Kind: rules.Kind(k.Kind), Text: saidThen(p, k.Rule, k.Args), CanSee: staff,
		When: p.T("flag.ended_span", logbook.Args{"From": atSite(p, site, k.RaisedAt), "To": atSite(p, site, k.ClearedAt)})}
}

// lifeLines says when a flag was raised, who has seen it, and that it is set
// aside until when, by whom and why.
func lifeLines(p *i18n.Printer, k *store.Flag, site logbook.Site, today civil.Date) []string {
	lines := []string{p.T("flag.raised", logbook.Args{"At": atSite(p, site, k.RaisedAt)})}
	switch {
	case !k.SeenAt.IsZero():
		lines = append(lines, p.T("flag.seen_by", logbook.Args{"By": k.SeenBy, "At": atSite(p, site, k.SeenAt)}))
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

// atSite writes an instant as day and time on the wall of a site.
func atSite(p *i18n.Printer, site logbook.Site, at time.Time) string {
	local := at.In(site.Location())
	return p.DateShort(civil.In(at, site.Location())) + ", " + local.Format("15:04")
}
