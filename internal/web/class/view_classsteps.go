package class

import (
	"fmt"
	"math"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/units"
	"reddside/internal/web/ui"
)

// ClassSteps is the development ruler of a class: one step for each day, as long
// as the thermal units that the day made, in rows of a hundred. It is drawn wide,
// and once more in shorter rows for narrow screens.
type ClassSteps struct {
	Title, Desc  string
	Wide, Narrow StepDrawing
	Keys         []ui.ChartKey
}

// StepDrawing is the steps at one size.
type StepDrawing struct {
	ID    string
	Box   string
	Class string
	Rows  []StepRow
}

// StepRow is one row: its steps, the marks above, and the number it begins with.
type StepRow struct {
	Y, Bar, Label string
	Left, Width   string
	From          string
	Steps         []Step
	Marks         []StepMark
	LabelY        string
}

// Step is a day, or the part of it that fits on a row.
type Step struct{ X, Width, Kind string }

// StepMark is an event on a row.
type StepMark struct{ X, Y1, Y2, TextY, Anchor, Text string }

// ClassUnitsOf returns thermal units as the reader counts them.
func ClassUnitsOf(p *i18n.Printer, u units.ThermalUnits) float64 {
	if p.Unit() == units.DegF {
		return u.FahrenheitUnits()
	}
	return float64(u)
}

// NewClassSteps draws the days of a forecast up to its swim-up, or as far as it
// goes; now is the last day that counts as done. The forecast must be there.
func NewClassSteps(p *i18n.Printer, r *forecast.Result, now *forecast.Day) ClassSteps {
	s := ClassSteps{Title: p.T("class.units.steps")}
	row := 100.0
	if p.Unit() == units.DegF {
		row = 200
	}
	s.Desc = p.T("class.units.alt", map[string]any{"From": p.DayMonth(r.StartOn), "To": p.DayMonth(now.On),
		"Units": now.ThermalUnits, "Row": p.Num(row, 0)})
	l := stepLayout{p: p, r: r, now: now.On, end: stepsEnd(r)}
	s.Wide = l.draw("class-steps", "wide", 820, 58, row)
	s.Narrow = l.draw("class-steps-n", "narrow", 360, 44, row/2)
	s.Keys = []ui.ChartKey{{Shape: "past", Text: p.T("class.units.key.past")},
		{Shape: "guessed", Text: p.T("class.units.key.guessed")},
		{Shape: "ahead", Text: p.T("class.units.key.ahead")}}
	if l.spans()[0].kind == "before" {
		s.Keys = append([]ui.ChartKey{{Shape: "before", Text: p.T("class.units.key.before")}}, s.Keys...)
	}
	return s
}

// stepsEnd is the last day to draw: swim-up, or what is expected next.
func stepsEnd(r *forecast.Result) civil.Date {
	end := r.Today
	for _, e := range forecast.Events() {
		if w := r.Window(e); w.Ok() {
			end = civil.Max(end, w.P50)
		}
	}
	return civil.Min(end.AddDays(2), r.Days[len(r.Days)-1].On)
}

// stepLayout places days on rows.
type stepLayout struct {
	p        *i18n.Printer
	r        *forecast.Result
	now, end civil.Date
}

// span is a stretch of thermal units and how it is drawn.
type span struct {
	from, to float64
	kind     string
}

// spans are what came before the record, and then every day.
func (l stepLayout) spans() []span {
	var out []span
	at := 0.0
	for i := range l.r.Days {
		d := &l.r.Days[i]
		if d.On.After(l.end) {
			break
		}
		to := ClassUnitsOf(l.p, d.ThermalUnits)
		if i == 0 {
			if d.Temperature.OK {
				at = to - ClassUnitsOf(l.p, units.ThermalUnits(math.Max(0, float64(d.Temperature.V))))
			}
			if at > 0 {
				out = append(out, span{0, at, "before"})
			}
		}
		kind := "past"
		switch {
		case d.On.After(l.now):
			kind = "ahead"
		case d.Estimated:
			kind = "guessed"
		}
		if i%2 == 1 {
			kind += " odd"
		}
		out = append(out, span{at, to, kind})
		at = to
	}
	return out
}

// stepGap is the free space above a row's bar, for the names of marks.
const stepGap, stepBar = 24.0, 20.0

func (l stepLayout) draw(id, class string, width, left, per float64) StepDrawing {
	spans := l.spans()
	last := spans[len(spans)-1].to
	first := 0.0
	if spans[0].kind == "before" {
		first = math.Floor(spans[0].to/per) * per
	}
	d := StepDrawing{ID: id, Class: class}
	scale := (width - left - 6) / per
	height := 0.0
	for from := first; from < last; from += per {
		y := height + stepGap
		row := StepRow{Y: ui.Num(y), Bar: ui.Num(stepBar), Left: ui.Num(left), Width: ui.Num(per * scale),
			From: l.p.Num(from, 0), LabelY: ui.Num(y + 15), Label: ui.Num(left - 6)}
		for _, s := range spans {
			a, b := max(s.from, from), min(s.to, from+per)
			if b > a {
				row.Steps = append(row.Steps, Step{X: ui.Num(left + (a-from)*scale), Width: ui.Num((b - a) * scale),
					Kind: s.kind})
			}
		}
		row.Marks = l.marks(from, per, left, scale, y)
		d.Rows = append(d.Rows, row)
		height = y + stepBar
	}
	d.Box = fmt.Sprintf("0 0 %g %g", width, height+4)
	return d
}

// marks are the events and today on a row.
func (l stepLayout) marks(from, per, left, scale, y float64) []StepMark {
	var out []StepMark
	add := func(on civil.Date, text string) {
		day := l.r.DayOn(on)
		if day == nil {
			return
		}
		u := ClassUnitsOf(l.p, day.ThermalUnits)
		if u < from || u >= from+per {
			return
		}
		m := StepMark{X: ui.Num(left + (u-from)*scale), Y1: ui.Num(y - 5), Y2: ui.Num(y + stepBar),
			TextY: ui.Num(y - 8), Anchor: "middle", Text: text}
		switch {
		case u-from < per*0.15:
			m.Anchor = "start"
		case u-from > per*0.85:
			m.Anchor = "end"
		}
		out = append(out, m)
	}
	for _, e := range forecast.Events() {
		if w := l.r.Window(e); w.Ok() {
			add(w.P50, ui.EventName(l.p, e))
		}
	}
	// Today's name gives way to that of an event close by.
	now := len(out)
	add(l.now, l.p.T("class.units.today"))
	if len(out) > now && now > 0 {
		out[now].Text = ""
	}
	return out
}

// class is the CSS class of a step.
func (s Step) class() string { return "step " + s.Kind }

// ids names the title and description of a drawing.
func (d StepDrawing) ids() string { return strings.Join([]string{d.ID + "-t", d.ID + "-d"}, " ") }
