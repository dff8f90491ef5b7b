package ui

import (
	"fmt"
	"strconv"
	"strings"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
)

// Ruler is the development ruler of one season, ready to draw: one line from
// fertilisation to release on the scale of the development index.
type Ruler struct {
	Missing string // why there is none, in words; "" when there is one
	Title   string
	Desc    string // the same in sentences
	Places  assess.RulerPlaces

	P *i18n.Printer
}

// NewRuler writes the texts of a ruler in the reader's language.
func NewRuler(p *i18n.Printer, places assess.RulerPlaces) Ruler {
	r := Ruler{Title: p.T("ruler.title"), Places: places, P: p}
	if places.Reason.Key != "" {
		r.Missing = p.T(places.Reason.Key, places.Reason.Args)
		return r
	}
	said := []string{p.T("ruler.at", map[string]any{"Today": p.Date(places.Today.On),
		"Index": p.Percent(places.Index)})}
	for i := range places.Marks {
		said = append(said, p.T("ruler.sentence", map[string]any{"Event": EventName(p, places.Marks[i].Event),
			"When": r.said(&places.Marks[i])}))
	}
	if !places.Release.From.On.IsZero() {
		said = append(said, p.T("ruler.sentence", map[string]any{"Event": p.T("ruler.release"),
			"When": r.P.T("tank.span", map[string]any{
				"From": p.DayMonth(places.Release.From.On), "To": p.DayMonth(places.Release.To.On)})}))
	}
	r.Desc = strings.Join(said, " ")
	return r
}

// EventName is the name of a forecast event in the reader's language.
func EventName(p *i18n.Printer, e forecast.Event) string { return p.T("tank.event." + string(e)) }

// dateSpan writes two days as a stretch.
func dateSpan(p *i18n.Printer, s assess.RulerSpan) string { return DateSpan(p, s.From.On, s.To.On) }

// DateSpan writes a stretch of days, like "3 to 12 Mar"; one day is one date.
func DateSpan(p *i18n.Printer, from, to civil.Date) string {
	if from == to {
		return p.DateShort(from)
	}
	first := p.DateShort(from)
	_, m1, d1 := from.YMD()
	_, m2, _ := to.YMD()
	if m1 == m2 && to.Sub(from) < 31 {
		first = strconv.Itoa(d1)
	}
	return p.T("tank.span", map[string]any{"From": first, "To": p.DateShort(to)})
}

// said is when an event comes, as it stands in a sentence.
func (r *Ruler) said(m *assess.RulerPlace) string {
	switch m.State {
	case assess.MarkSeen:
		return r.P.T("ruler.seen", map[string]any{"On": r.P.DayMonth(m.Middle)})
	case assess.MarkExpected:
		return r.P.T("tank.span", map[string]any{"From": r.P.DayMonth(m.Window.From.On),
			"To": r.P.DayMonth(m.Window.To.On)})
	}
	return r.when(m)
}

// when says what is known of an event in a few words.
func (r *Ruler) when(m *assess.RulerPlace) string {
	switch m.State {
	case assess.MarkSeen:
		return r.P.T("ruler.seen", map[string]any{"On": r.P.DateShort(m.Middle)})
	case assess.MarkBefore:
		return r.P.T("ruler.before")
	case assess.MarkNever:
		return r.P.T("ruler.never")
	}
	return dateSpan(r.P, m.Window)
}

// RulerDraw is a ruler at one size, in drawing units.
type RulerDraw struct {
	*Ruler
	ID     string
	Width  float64
	Side   float64 // free at both ends
	Narrow bool
}

func (r *Ruler) wide(id string) RulerDraw { return RulerDraw{r, id, 820, 10, false} }
func (r *Ruler) narrow(id string) RulerDraw {
	return RulerDraw{r, id + "-n", 360, 8, true}
}
func (r *Ruler) small() RulerDraw { return RulerDraw{r, "", 240, 5, true} }
func (r *Ruler) Wall() RulerDraw  { return RulerDraw{r, "", 400, 8, true} }

func (d RulerDraw) box(height int) string { return fmt.Sprintf("0 0 %g %d", d.Width, height) }

// X is a place in drawing units.
func (d RulerDraw) X(place float64) string {
	return Num(d.Side + place*(d.Width-2*d.Side))
}

// W is the width of a stretch, at least min.
func (d RulerDraw) W(s assess.RulerSpan, min float64) string {
	return Num(max(min, (s.To.X-s.From.X)*(d.Width-2*d.Side)))
}

// Num writes a coordinate briefly.
func Num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	return strings.TrimSuffix(s, ".0")
}

// label is the text under the name of a mark.
func (d RulerDraw) label(m *assess.RulerPlace) string {
	if d.Narrow {
		switch m.State {
		case assess.MarkExpected:
			return d.P.T("ruler.about", map[string]any{"On": d.P.DateShort(m.Middle)})
		case assess.MarkBefore:
			return d.P.T("ruler.before_short")
		case assess.MarkNever:
			return "–"
		}
	}
	return d.when(m)
}

// windows are the windows that lie ahead; a seen one is drawn as its mark.
func (d RulerDraw) windows() []assess.RulerPlace {
	var out []assess.RulerPlace
	for _, m := range d.Places.Marks {
		if m.State == assess.MarkExpected {
			out = append(out, m)
		}
	}
	return out
}

// months are the ticks with room for their names.
func (d RulerDraw) months() []assess.RulerTick {
	room := 40 / (d.Width - 2*d.Side)
	var out []assess.RulerTick
	for _, t := range d.Places.Months {
		if len(out) == 0 || t.X-out[len(out)-1].X >= room {
			out = append(out, t)
		}
	}
	return out
}

func (d RulerDraw) monthName(t assess.RulerTick) string {
	_, m, _ := t.On.YMD()
	return d.P.T("month_short." + strconv.Itoa(int(m)))
}

func (d RulerDraw) todayLabel() string {
	return d.P.T("ruler.today", map[string]any{"On": d.P.DateShort(d.Places.Today.On)})
}

func (d RulerDraw) releaseLabel() string {
	return d.P.T("ruler.release_on", map[string]any{"When": dateSpan(d.P, d.Places.Release)})
}

func (d RulerDraw) fertilisedLabel() string {
	if d.Places.FertilisedOn.IsZero() {
		return d.P.T("ruler.fertilised")
	}
	return d.P.T("ruler.fertilised_on", map[string]any{"On": d.P.DateShort(d.Places.FertilisedOn)})
}

// anchor keeps a label at a place inside the drawing.
func (d RulerDraw) anchor(place float64) string {
	room := 0.09
	if d.Narrow {
		room = 0.18
	}
	switch {
	case place < room:
		return "start"
	case place > 1-room:
		return "end"
	}
	return "middle"
}
