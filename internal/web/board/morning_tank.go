package board

import (
	"strings"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// Bounds of what the page shows of one tank, so that four tanks fit on a screen.
// Local choices.
const (
	morningItems   = 3
	morningChanges = 3
)

// morningDo is where a flag's job is done, after the address of its season. Other
// flags lead to their card on the page of the tank.
var morningDo = map[string]string{
	rules.CheckMissing: "/checks/new",
	"plan_step":        "/events/new?kind=setpoint_change",
	"water_change":     "/events/new?kind=water_change",
	"first_food":       "/events/new?kind=first_feed",
}

// view is what the page shows of a tank; since is the day from which changes are
// told.
func (t *morningWork) view(v *req.Info, p *i18n.Printer, since civil.Date) MorningTank {
	href := ui.SeasonPath(t.Season.ID)
	out := MorningTank{Name: t.Season.Tank.Name, Href: href, Status: t.Assessment.Status}
	items := t.items(p, href, since)
	items = append(items, t.noteItems(v, p, href)...)
	for _, k := range t.lives.Ended {
		items = append(items, MorningItem{Kind: rules.Watch, Href: href + "#ended", Do: p.T("flag.ended_title"),
			DoHref: ui.FlagPath(k.ID, "/finding"), Text: words.OverText(p, k)})
	}
	if t.checkDue() {
		out.CheckHref, out.ClosedHref = href+"/checks/new", ui.SitePath(t.Season.Site.ID, "/closed-days/new")
	}
	out.More = max(0, len(items)-morningItems)
	out.Items = items[:len(items)-out.More]
	changes := t.changes(p, since)
	out.Changes = changes[:min(len(changes), morningChanges)]
	return out
}

// items are the flags that ask somebody to act, watch or do something, each with
// the first thing to do. The check of today has a button of its own.
func (t *morningWork) items(p *i18n.Printer, href string, since civil.Date) []MorningItem {
	var out []MorningItem
	for i := range t.Assessment.Flags {
		f := &t.Assessment.Flags[i]
		if f.Kind == rules.Note || t.lives.Aside(f, t.Today) || (f.Rule == rules.CheckMissing &&
			f.Kind == rules.Due) {
			continue
		}
		item := MorningItem{Kind: f.Kind, Text: p.T(f.Headline.Key, f.Headline.Args), Href: href + "#flags",
			Do: firstToDo(p, f)}
		if k := t.lives.Of(f); k != nil {
			item.Href = href + "#flag-" + string(k.ID)
			item.New = !k.RaisedOn.Before(since) && !f.Since.Before(since)
		}
		if to := morningDo[f.Rule]; to != "" {
			item.DoHref = href + to
		}
		out = append(out, item)
	}
	return out
}

// firstToDo is the first job of a flag's list; cautions stand on the card and on
// the form that the job is entered in.
func firstToDo(p *i18n.Printer, f *rules.Flag) string {
	for _, d := range f.Do {
		// Treated water is made ready for the job; it is not the job.
		if !strings.Contains(d.Key, ".caution_") && d.Key != "rules.do.treat_water" {
			return p.T(d.Key, d.Args)
		}
	}
	return ""
}

// noteItems are the notes that the reader has not seen or not answered.
func (t *morningWork) noteItems(v *req.Info, p *i18n.Printer, href string) []MorningItem {
	var out []MorningItem
	for i := range t.notes {
		n := &t.notes[i]
		if !words.NoteWaits(n, t.notes, v.Actor.Role) {
			continue
		}
		item := MorningItem{Note: true, Text: p.T("morning.note", logbook.Args{"By": words.ByRole(p, n.Entry),
			"Body": n.Body}),
			Href: href + "/notes#note-" + string(n.ID)}
		if n.Waits(t.notes) {
			item.Do, item.DoHref = p.T("note.answer"), href+"/notes?answers="+string(n.ID)+"#write"
		}
		out = append(out, item)
	}
	return out
}

// changes are what is different since a day, that day included: deaths, a stage
// seen for the first time, windows that opened, flags that ended, temperature.
func (t *morningWork) changes(p *i18n.Printer, since civil.Date) []string {
	var out []string
	add := func(key string, args logbook.Args) { out = append(out, p.T(key, args)) }
	if dead := t.Season.DeadByDay(since, t.Today); len(dead.Days) > 0 {
		add("morning.dead", logbook.Args{"Each": dead})
	}
	if c := t.newStage(since); c != nil {
		add("morning.stage", logbook.Args{"Stage": c.Stage, "On": p.DateShort(c.On)})
	}
	for _, e := range []forecast.Event{forecast.Hatch, forecast.SwimUp} {
		if w := t.Forecast.Window(e); w.Ok() && w.Observed.IsZero() && !w.P10.Before(since) && !w.P10.After(t.Today) {
			add("morning.window."+string(e), logbook.Args{"Days": ui.DateSpan(p, w.P10, w.P90)})
		}
	}
	for i := range t.stored {
		k := &t.stored[i]
		if abnormal := k.Kind == string(rules.Act) || k.Kind == string(rules.Watch); abnormal && !k.Open() &&
			!k.ClearedOn.Before(since) && !assess.Waits(k) {
			out = append(out, words.OverText(p, k))
		}
	}
	if text := temperatureChange(p, t.Assessment.Temperatures); text != "" {
		out = append(out, text)
	}
	return out
}

// newStage is the check that first saw the newest stage, when it is not older
// than since and an earlier stage was seen before.
func (t *morningWork) newStage(since civil.Date) *logbook.Check {
	var first *logbook.Check
	for i := range t.Season.Checks {
		c := &t.Season.Checks[i]
		if c.Stage != "" && (first == nil || c.Stage.Order() > first.Stage.Order()) {
			if first == nil && !c.On.Before(since) {
				return nil // nothing to compare with
			}
			first = c
		}
	}
	if first == nil || first.On.Before(since) {
		return nil
	}
	return first
}

// temperatureChange is the newest temperature beside the one before it.
func temperatureChange(p *i18n.Printer, days []rules.DayTemperature) string {
	var newest, before *rules.DayTemperature
	for i := len(days) - 1; i >= 0 && before == nil; i-- {
		switch d := &days[i]; {
		case !d.Value.OK:
		case newest == nil:
			newest = d
		default:
			before = d
		}
	}
	if newest == nil {
		return ""
	}
	args := logbook.Args{"Now": newest.Value.V, "On": p.DateShort(newest.On)}
	if before == nil {
		return p.T("morning.temperature_first", args)
	}
	args["Before"], args["BeforeOn"] = before.Value.V, p.DateShort(before.On)
	if p.Temp(newest.Value.V) == p.Temp(before.Value.V) {
		return p.T("morning.temperature_same", args)
	}
	return p.T("morning.temperature", args)
}
