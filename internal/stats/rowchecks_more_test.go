package stats

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// fmtSscan reads x out of "P(X<=x) ...".
func fmtSscan(s string, x *int) (int, error) { return fmt.Sscanf(s, "P(X<=%d)", x) }

func bhRow(t *testing.T, r refRow) {
	adjusted := BenjaminiHochberg(r.list(t, "p"))
	head, tail, ok := strings.Cut(r.expected, "| adjusted:")
	if !ok {
		t.Fatalf("expected %q", r.expected)
	}
	r.close(t, adjusted, numbers(t, tail))
	var first, rejected int
	if _, err := fmt.Sscanf(head, "rejected: first %d", &first); err != nil {
		t.Fatal(err)
	}
	for i, p := range adjusted {
		if p <= r.num(t, "q") {
			rejected++
			if i >= first {
				t.Errorf("position %d rejected", i)
			}
		}
	}
	if rejected != first {
		t.Errorf("%d rejected, want %d", rejected, first)
	}
}

// lifeEvents reads the two ways in which Kaplan-Meier rows list their data.
func lifeEvents(t *testing.T, r refRow) (start int, events []LifeEvent) {
	t.Helper()
	byDay := map[int]LifeEvent{}
	if rest, ok := strings.CutPrefix(r.inputs, "events at "); ok {
		dead, rest, ok := strings.Cut(rest, "; censored ")
		censored, _, ok2 := strings.Cut(rest, ";")
		if !ok || !ok2 {
			t.Fatalf("inputs %q", r.inputs)
		}
		for _, d := range ints(floats(t, dead, ",")) {
			e := byDay[d]
			e.Dead++
			byDay[d] = e
			start++
		}
		for _, d := range ints(floats(t, censored, ",")) {
			e := byDay[d]
			e.Removed++
			byDay[d] = e
			start++
		}
	} else {
		start = r.whole(t, "N")
		_, list, ok := strings.Cut(r.inputs, "alive ")
		if !ok {
			t.Fatalf("inputs %q", r.inputs)
		}
		for f := range strings.FieldsSeq(list) {
			var day int
			var e LifeEvent
			if _, err := fmt.Sscanf(f, "%d:%d/%d", &day, &e.Dead, &e.Removed); err != nil {
				t.Fatal(err)
			}
			byDay[day] = e
		}
	}
	for d, e := range byDay {
		e.Day = float64(d)
		events = append(events, e)
	}
	slices.SortFunc(events, func(a, b LifeEvent) int { return int(a.Day - b.Day) })
	return start, events
}

func kmRow(t *testing.T, r refRow) {
	start, events := lifeEvents(t, r)
	steps, err := KaplanMeier(start, events, 1, 0.95)
	must(t, err)
	got := make([][]float64, 4)
	for _, s := range steps {
		for i, v := range []float64{s.Survival, s.SE, s.Interval.Lower, s.Interval.Upper} {
			got[i] = append(got[i], v)
		}
	}
	groups := strings.Split(r.expected, "|")
	if len(groups) != 4 {
		t.Fatalf("%d groups", len(groups))
	}
	for i, g := range groups {
		r.close(t, got[i], numbers(t, g))
	}
}

func funnelRow(t *testing.T, r refRow) {
	alive, start := ints(r.list(t, "alive")), ints(r.list(t, "start"))
	f, err := FitFunnel(alive, start)
	must(t, err)
	p := make([]float64, len(alive))
	for i := range p {
		p[i] = f.LowP(alive[i], start[i])
	}
	groups := strings.Split(r.expected, "|")
	if len(groups) != 3 {
		t.Fatalf("%d groups", len(groups))
	}
	r.close(t, []float64{f.Centre, f.Phi, f.Tau2, f.Rho, f.A, f.B}, numbers(t, groups[0]))
	r.close(t, p, numbers(t, groups[1]))
	r.close(t, BenjaminiHochberg(p), numbers(t, groups[2]))
}

func binomialLimitsRow(t *testing.T, r refRow) {
	centre, n := r.num(t, "centre"), r.whole(t, "n")
	lo95, hi95 := BinomialLimits(centre, n, 0.95)
	lo998, hi998 := BinomialLimits(centre, n, 0.998)
	r.close(t, []float64{float64(lo95), float64(hi95), float64(lo998), float64(hi998)}, numbers(t, r.expected))
}

func hatchRow(t *testing.T, r refRow) {
	f := UnitsForecast{
		Need: r.num(t, "U"), NeedSD: r.num(t, "sdU"), Have: r.num(t, "A"), HaveSD: r.num(t, "sdA"),
		PerDay: r.num(t, "mean7"), ElapsedDays: r.num(t, "elapsed_days"),
		BiasSD: r.num(t, "sd_bias"), DaySD: r.num(t, "sd_day"), Rho: r.num(t, "rho"),
	}
	days, sd, err := f.DaysLeft()
	must(t, err)
	iv, err := f.Range(0.80)
	must(t, err)
	r.close(t, []float64{days, sd, iv.Lower, iv.Upper}, numbers(t, r.expected))
}

type traceInput struct {
	N      int     `json:"N"`
	Stages [][]any `json:"stages"`
	Checks [][]int `json:"checks"`
	A0     float64 `json:"a0"`
	Phi    float64 `json:"phi"`
	Guard  int     `json:"guard_days"`
	Red    float64 `json:"red"`
	Amber  float64 `json:"amber"`
	Min    int     `json:"mindead"`
}

// deadChecks turns a trace's table into checks: the stage of a day is the last
// one begun on or before it.
func (in traceInput) deadChecks(t *testing.T, cfg DeadConfig) []DeadCheck {
	t.Helper()
	stageOf := map[string]DeadStage{
		"arrival": StageArrival, "egg": StageEgg, "hatching": StageHatching,
		"alevin": StageAlevin, "swimup": StageSwimUp, "fry": StageFry,
	}
	var checks []DeadCheck
	alive, before := in.N, 0
	for _, c := range in.Checks {
		var days [StageCount]int
		for d := before + 1; d <= c[0]; d++ {
			stage := StageArrival
			for _, s := range in.Stages {
				if int(s[0].(float64)) <= d {
					var ok bool
					if stage, ok = stageOf[s[1].(string)]; !ok {
						t.Fatalf("stage %v", s[1])
					}
				}
			}
			days[stage]++
		}
		checks = append(checks, DeadCheck{Days: c[0] - before, AtRisk: alive, Dead: c[1], RateSum: cfg.RateSum(days)})
		alive -= c[1]
		before = c[0]
	}
	return checks
}

func deadTraceRow(t *testing.T, r refRow) {
	var in traceInput
	must(t, json.Unmarshal([]byte(r.inputs), &in))
	cfg := firstClock()
	if in.A0 != cfg.A0 || in.Phi != cfg.Phi || in.Guard != cfg.GuardDays ||
		in.Red != cfg.ActP || in.Amber != cfg.WatchP || in.Min != cfg.MinDead {
		t.Fatalf("settings differ from the default: %+v", in)
	}
	results, err := JudgeDead(cfg, in.deadChecks(t, cfg))
	must(t, err)
	want := strings.Split(r.expected, " | ")
	if len(want) != len(results) {
		t.Fatalf("%d results, want %d", len(results), len(want))
	}
	words := map[DeadFlag]string{DeadNone: "-", DeadWatch: "AMBER", DeadAct: "RED"}
	for i, line := range want {
		f := strings.Fields(line)
		if len(f) != 9 {
			t.Fatalf("%q", line)
		}
		var nums []float64
		for _, part := range f[2:8] {
			_, v, _ := strings.Cut(part, "=")
			x, err := strconv.ParseFloat(v, 64)
			must(t, err)
			nums = append(nums, x)
		}
		g := results[i]
		r.close(t, []float64{g.Expected, g.A, g.B, g.P[0], g.P[1], g.P[2]}, nums)
		if words[g.Flag] != f[8] {
			t.Errorf("%s: flag %s", line, words[g.Flag])
		}
	}
}

func driftTraceRow(t *testing.T, r refRow) {
	var in struct {
		Days     []float64 `json:"days"`
		Readings []float64 `json:"readings"`
	}
	must(t, json.Unmarshal([]byte(r.inputs), &in))
	s := Series{Days: in.Days, Celsius: in.Readings}
	must(t, s.Validate())
	want := strings.Fields(r.expected)
	if len(want) != len(in.Days) {
		t.Fatalf("%d marks for %d readings", len(want), len(in.Days))
	}
	for i, w := range want {
		d := LastDrift(Series{Days: s.Days[:i+1], Celsius: s.Celsius[:i+1]})
		if w == "-" {
			if d.Known {
				t.Errorf("reading %d: known too early", i)
			}
			continue
		}
		v, flagged := strings.CutSuffix(w, "!")
		x, err := strconv.ParseFloat(v, 64)
		must(t, err)
		r.close(t, []float64{d.Change}, []float64{x})
		if d.Flagged != flagged {
			t.Errorf("reading %d: flagged %v at %+.4f", i, d.Flagged, d.Change)
		}
	}
}
