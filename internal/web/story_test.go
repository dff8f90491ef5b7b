package web

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"reddside/internal/units"
)

// storyDay is what a class enters on a day, and what must then be said.
type storyDay struct {
	on    string
	enter []string // over a plain check
	acts  []string // rules that ask for action
	watch []string // rules that ask to keep an eye on it
	none  []string // rules that must be silent
	says  []string // on Morning
	lacks []string // on Morning
}

// Three weeks of a classroom: setpoint 7.5, one to three dead a day; on a Monday 40
// dead; from Tuesday on half a degree warmer each day; the hatch with foam at the end.
var story = []storyDay{
	{on: "2026-01-21", enter: []string{"dead_eggs", "1"}, none: []string{"dead_count"}},
	{on: "2026-01-22", enter: []string{"dead_eggs", "2"}, none: []string{"dead_count"}},
	{on: "2026-01-23", enter: []string{"dead_eggs", "1"}, none: []string{"dead_count"}},
	{on: "2026-01-26", enter: []string{"dead_eggs", "3"}},
	{on: "2026-01-27", enter: []string{"dead_eggs", "1"}},
	{on: "2026-01-28", enter: []string{"dead_eggs", "2"}},
	{on: "2026-01-29", enter: []string{"dead_eggs", "1"}},
	{on: "2026-01-30", enter: []string{"dead_eggs", "2"}},
	{on: "2026-02-02", enter: []string{"dead_eggs", "40"}, acts: []string{"dead_count"},
		says: []string{"Dead: 40 today, 2 on Friday.", "Start air now"}},
	{on: "2026-02-03", enter: []string{"dead_eggs", "2", "temperature", "8.0"},
		says:  []string{"Dead: 2 today, 40 yesterday", "Call your coordinator now"},
		lacks: []string{"sealed bag", "42 dead"}},
	{on: "2026-02-04", enter: []string{"dead_eggs", "1", "temperature", "8.5"}},
	{on: "2026-02-05", enter: []string{"dead_eggs", "1", "temperature", "9.0"},
		watch: []string{"temperature_departure"}},
	{on: "2026-02-06", enter: []string{"dead_eggs", "2", "temperature", "9.5"},
		acts: []string{"temperature_departure"}},
	{on: "2026-02-09", enter: []string{"dead_eggs", "2", "temperature", "11.0"},
		acts: []string{"temperature_departure"}},
	{on: "2026-02-10", enter: []string{"dead_eggs", "1", "temperature", "8.0"},
		says: []string{"Water away from its setpoint: solved", "Over: what was it?"}, lacks: []string{"11.0 °C: 3.5"}},
	{on: "2026-02-11", enter: []string{"dead_eggs", "1", "hatched", "few", "water", "foam"},
		says: []string{"Eggs hatch, but more die than usual"}, lacks: []string{"no hatch to explain",
			"what a hatch looks like"}},
	{on: "2026-02-12", enter: []string{"dead_eggs", "1", "hatched", "half", "water", "foam"}},
}

var pageBreak = regexp.MustCompile(`(?s)<(?:script|style|svg|nav|form|table|footer)\b.*?</(?:script|style|svg|nav|form|table|footer)>|<head>.*?</head>`)
var lineEnd = regexp.MustCompile(`</(?:p|li|h[1-6]|div|dd|section)>`)

// sentences are the texts of a page's main part, one a line.
func (p page) sentences() []string {
	body := p.Body
	if i := strings.Index(body, "<main"); i > 0 {
		body = body[i:]
	}
	body = lineEnd.ReplaceAllString(pageBreak.ReplaceAllString(body, " "), "\n")
	var out []string
	for line := range strings.SplitSeq(tagsOnly.ReplaceAllString(body, " "), "\n") {
		if line = strings.Join(strings.Fields(line), " "); line != "" {
			out = append(out, line)
		}
	}
	return out
}

var tagsOnly = regexp.MustCompile(`<[^>]*>`)

func TestStoryOfThreeWeeks(t *testing.T) {
	ts := newTestServer(t)
	tank := ts.tank1
	tank.Setpoint = units.Some[units.Celsius](7.5)
	_, err := ts.DB.UpdateTank(t.Context(), ts.coordinator, tank, testNow)
	ts.must(err)
	for _, d := range story {
		at, err := time.Parse(time.DateTime, d.on+" 13:00:00")
		ts.must(err)
		ts.at(at)
		more := append([]string{"on", d.on, "confirm", "dead_eggs", "confirm", "temperature"}, d.enter...)
		f := plainCheck(more...)
		f["confirm"] = []string{"dead_eggs", "temperature", "hatched", "water"}
		ts.as(ts.class).post(seasonPath(ts.one, "checks"), f).want(t, 303)
		fmt.Fprintf(t.Output(), "\n== %s: %s\n", d.on, strings.Join(d.enter, " "))
		for _, look := range []struct {
			who  *browser
			path string
		}{{ts.as(ts.keeper), "/morning"}, {ts.as(ts.class), "/today"},
			{ts.as(ts.keeper), strings.TrimSuffix(seasonPath(ts.one, ""), "/")}} {
			p := look.who.get(look.path).want(t, 200)
			if look.path == "/morning" {
				p.want(t, 200, d.says...).lacks(t, d.lacks...)
				if len(d.acts) > 0 {
					p.lacks(t, "is fine", "are fine")
				}
			}
			fmt.Fprintf(t.Output(), "-- %s\n   %s\n", strings.SplitN(look.path, "/", 3)[1],
				strings.Join(p.sentences(), "\n   "))
		}
		kinds := map[string][]string{}
		entries, err := ts.Assess.BoardEntries(t.Context(), ts.keeper, ts.clockAt())
		ts.must(err)
		for _, e := range entries {
			for _, f := range e.Assessment.Flags {
				if e.SeasonID == ts.one.ID {
					kinds[string(f.Kind)] = append(kinds[string(f.Kind)], f.Rule)
				}
			}
		}
		fmt.Fprintf(t.Output(), "-- rules %v\n", kinds)
		for _, rule := range d.acts {
			if !slices.Contains(kinds["act"], rule) {
				t.Errorf("%s: no act of %s, but %v", d.on, rule, kinds)
			}
		}
		for _, rule := range d.watch {
			if !slices.Contains(slices.Concat(kinds["watch"], kinds["act"]), rule) {
				t.Errorf("%s: nothing of %s, but %v", d.on, rule, kinds)
			}
		}
		for _, rule := range d.none {
			if slices.Contains(slices.Concat(kinds["watch"], kinds["act"]), rule) {
				t.Errorf("%s: %s speaks: %v", d.on, rule, kinds)
			}
		}
	}
}
