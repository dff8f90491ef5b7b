package forecast

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Source: science table (computed from the published constants): constant 7 C has
// 72 days and 503 thermal units to hatch, 122 and 855 to swim-up.
func TestAtConstant(t *testing.T) {
	r, err := AtConstant(logbook.AtlanticSalmon, 7)
	if err != nil {
		t.Fatal(err)
	}
	h, s := r.Events[Hatch], r.Events[SwimUp]
	if math.Abs(h.Days.V-71.9) > 0.1 || math.Abs(float64(h.ThermalUnits.V)-503.1) > 1 || !h.InRange ||
		math.Abs(s.Days.V-122.2) > 0.2 {
		t.Errorf("%+v", r)
	}
	if r, _ := AtConstant(logbook.AtlanticSalmon, 10); r.Events[SwimUp].InRange || !r.Events[Hatch].InRange {
		t.Error("at 10 C swim-up is outside its range and hatch inside")
	}
	if r, _ := AtConstant(logbook.Pink, 0); r.Events[Hatch].Days.OK {
		t.Error("at 0 C a sum of thermal units is never reached")
	}
	for _, c := range []units.Celsius{45, units.Celsius(math.NaN())} {
		if _, err := AtConstant(logbook.Coho, c); logbook.KindOf(err) != logbook.Invalid {
			t.Errorf("%v C: %v", c, err)
		}
	}
	if _, err := AtConstant("trout", 7); logbook.KindOf(err) != logbook.Invalid {
		t.Error("an unknown species")
	}
}

func TestCalcForecastBody(t *testing.T) {
	var in CalcInput
	body := `{"species":"atlantic_salmon","start_on":"2026-01-10","thermal_units":300,"mean_temperature_c":6,
		"daily_c":[6,6,null,6,6],"future_c":6,"observed":[]}`
	if err := json.Unmarshal([]byte(body), &in); err != nil {
		t.Fatal(err)
	}
	r, err := Calc(in)
	if err != nil {
		t.Fatal(err)
	}
	// 300/(6 x 83.7) = 0.597; each day adds 1/83.7; hatch after 33.7 more days.
	if len(r.Index) != 5 || math.Abs(r.Index[4]-(300/(6*83.66)+5/83.66)) > 0.001 || r.EstimatedDays != 1 ||
		math.Abs(float64(r.ThermalUnits[4])-330) > 1e-9 {
		t.Errorf("%+v", r)
	}
	if got := r.Events[Hatch].P50.V; got != civil.MustParse("2026-02-13") {
		t.Errorf("hatch %v, want 34 days after 10 January", got)
	}
	if r.Events[Eyed].P50.OK {
		t.Error("eyed was before the start")
	}
	out, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var back struct {
		Events map[string]struct{ P10, P50, P90 *string }
	}
	if err := json.Unmarshal(out, &back); err != nil || back.Events["eyed"].P50 != nil ||
		*back.Events["hatch"].P50 != "2026-02-13" {
		t.Errorf("%s %v", out, err)
	}
}

func TestCalcRefusesByField(t *testing.T) {
	base := func() CalcInput {
		return CalcInput{Species: logbook.AtlanticSalmon, StartOn: day0, DevelopmentIndex: units.Some(0.5),
			Daily: []units.Optional[units.Celsius]{units.Some(units.Celsius(6)), {}, units.Some(units.Celsius(6))}}
	}
	cases := map[string]func(*CalcInput){
		"species":           func(i *CalcInput) { i.Species = "" },
		"start_on":          func(i *CalcInput) { i.StartOn = civil.Date{} },
		"development_index": func(i *CalcInput) { i.DevelopmentIndex = units.None[float64]() },
		"daily_c[0]":        func(i *CalcInput) { i.Daily[0] = units.Some(units.Celsius(45)) },
		"daily_c":           func(i *CalcInput) { i.Daily = nil },
		"future_c":          func(i *CalcInput) { i.Future = units.Some(units.Celsius(math.Inf(1))) },
		"observed[0].event": func(i *CalcInput) {
			i.Observed = []CalcObserved{{Event: "spawn",
				OnOrBefore: day0}}
		},
		"observed[0].on_or_before": func(i *CalcInput) {
			i.Observed = []CalcObserved{{Event: Hatch,
				OnOrBefore: day0.AddDays(-3)}}
		},
		"mean_temperature_c": func(i *CalcInput) {
			i.DevelopmentIndex, i.ThermalUnits = units.None[float64](), units.Some(units.ThermalUnits(300))
		},
	}
	for field, f := range cases {
		in := base()
		f(&in)
		_, err := Calc(in)
		var e *logbook.Error
		found := false
		if errors.As(err, &e) {
			for _, p := range e.Problems {
				found = found || p.Field == field
			}
		}
		if !found {
			t.Errorf("%s: %v", field, err)
		}
	}
	in := base()
	in.Observed = []CalcObserved{{Event: Hatch, After: day0.AddDays(2), OnOrBefore: day0.AddDays(1)}}
	if _, err := Calc(in); logbook.KindOf(err) != logbook.Invalid {
		t.Error("dates in the wrong order")
	}
}

func FuzzCalc(f *testing.F) {
	f.Add([]byte(`{"species":"coho","start_on":"2026-01-10","development_index":0.4,"daily_c":[6,null],"future_c":7,"observed":[{"event":"hatch","on_or_before":"2026-01-11"}]}`))
	f.Add([]byte(`{"species":"chinook","start_on":"9999-12-30","thermal_units":1e308,"daily_c":[-5]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		var in CalcInput
		if json.Unmarshal(b, &in) != nil {
			return
		}
		r, err := Calc(in)
		if err != nil {
			return
		}
		if _, err := json.Marshal(r); err != nil {
			t.Fatal(err)
		}
	})
}
