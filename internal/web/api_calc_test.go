package web

import (
	"encoding/csv"
	"math"
	"net/url"
	"os"
	"strconv"
	"strings"
	"testing"

	"reddside/internal/api"
	"reddside/internal/units"
)

// referenceRows reads a table of check values; each row names its own source.
func referenceRows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, h := range all[0] {
			row[h] = line[i]
		}
		out = append(out, row)
	}
	return out
}

func toNumber(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func within(t *testing.T, tolerance string, want float64) float64 {
	t.Helper()
	if p, ok := strings.CutSuffix(tolerance, "%"); ok {
		return toNumber(t, p) / 100 * math.Abs(want)
	}
	return toNumber(t, tolerance)
}

func number(t *testing.T, p page, path ...any) float64 {
	t.Helper()
	v, ok := p.field(t, path...).(float64)
	if !ok {
		t.Fatalf("no number at %v: %s", path, p.Body)
	}
	return v
}

// Printed tables and values of the published formula, through the interface.
func TestOxygenRowsOverHTTP(t *testing.T) {
	c := newTestServer(t).program(noActor)
	rows := referenceRows(t, "oxygen_saturation.csv")
	if len(rows) < 100 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, r := range rows {
		q := "/calc/oxygen?temperature_c=" + r["temp_c"]
		if r["altitude_m"] != "" {
			q += "&altitude_m=" + r["altitude_m"]
		} else {
			kpa := float64(units.FromMMHg(toNumber(t, r["pressure_mmhg"])))
			q += "&pressure_kpa=" + strconv.FormatFloat(kpa, 'f', -1, 64)
		}
		want := toNumber(t, r["do_mg_l"])
		if got := number(t, c.get(q).want(t, 200), "saturation_mg_l"); math.Abs(got-want) > within(t,
			r["tolerance_mg_l"], want) {
			t.Errorf("%s: %v, want %v (%s)", q, got, want, r["source"])
		}
	}
}

func TestAmmoniaRowsOverHTTP(t *testing.T) {
	c := newTestServer(t).program(noActor)
	rows := referenceRows(t, "ammonia_fraction.csv")
	if len(rows) < 20 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, r := range rows {
		q := "/calc/ammonia?temperature_c=" + r["temp_c"] + "&ph=" + r["ph"] + "&tan_mg_l=2"
		p := c.get(q).want(t, 200)
		want := toNumber(t, r["nh3_fraction"])
		if got := number(t, p, "fraction"); math.Abs(got-want) > within(t, r["tolerance"], want) {
			t.Errorf("%s: %v, want %v (%s)", q, got, want, r["source"])
		}
		// 17.031 g of NH3 hold 14.007 g of N (atomic weights, from memory).
		if n, nh3 := number(t, p, "nh3_n_mg_l"), number(t, p, "nh3_mg_l"); math.Abs(nh3/n-17.031/14.007) > 1e-3 {
			t.Errorf("%s: %v as N is %v as NH3", q, n, nh3)
		}
	}
}

// Small sums that can be done by hand, and one exact interval of a public table.
func TestCalculatorsOverHTTP(t *testing.T) {
	c := newTestServer(t).program(noActor)
	for _, x := range []struct {
		path   string
		field  string
		want   float64
		within float64
	}{
		// 9.092 mg/L: Standard Methods table (reference rows)
		{"/calc/oxygen?temperature_c=20&pressure_kpa=101.325&measured_mg_l=9.092", "percent", 100, 0.1},
		// (1-0.6)/1
		{"/calc/water-change?volume_l=200&now_mg_l=1&new_water_mg_l=0&target_mg_l=0.6", "fraction", 0.4, 1e-9},
		{"/calc/water-change?volume_l=200&now_mg_l=1&new_water_mg_l=0&target_mg_l=0.6", "litres", 80, 1e-6},
		// 7.0 mg per mg (reagent maker, read)
		{"/calc/dechlorination?litres=100&chlorine_mg_l=1", "sodium_thiosulfate_pentahydrate_g", 0.7, 0.01},
		// 100*4186/4.186/3600
		{"/calc/warming?volume_l=100&ua_w_per_k=4.186&tank_c=5&room_c=20&limit_c=12", "time_constant_h", 27.778, 0.01},
		// tau ln 2
		{"/calc/warming?volume_l=100&ua_w_per_k=4.186&tank_c=5&room_c=20&limit_c=12.5", "hours_to_limit", 19.254, 0.01},
		// heat of the water over heat of the ice
		{"/calc/ice?volume_l=100&from_c=10&to_c=8", "ice_kg", 837200.0 / (334000 + 4186*8), 1e-6},
		// 8, 6, 5
		{"/calc/tempering?from_c=8&to_c=4&fraction_per_step=0.5&within_c=1", "steps", 2, 0},
		// 1-0.025^(1/10), Clopper and Pearson 1934
		{"/calc/survival?alive=0&total=10&level=0.95", "upper", 0.3085, 1e-4},
		// 100*10/10^3
		{"/calc/condition?weight_g=10&length_mm=100", "k", 1, 1e-9},
	} {
		if got := number(t, c.get(x.path).want(t, 200), x.field); math.Abs(got-x.want) > x.within {
			t.Errorf("%s: %s is %v, want %v", x.path, x.field, got, x.want)
		}
	}
	never := c.get("/calc/warming?volume_l=100&ua_w_per_k=3&tank_c=5&room_c=8&limit_c=12").want(t, 200)
	if v, said := never.field(t).(map[string]any)["hours_to_limit"]; !said || v != nil {
		t.Errorf("a limit that is never reached: %s", never.Body)
	}
}

// Every calculator refuses, by name, what is unknown, repeated, empty, not a
// number or out of range; it never answers with a number then.
func TestCalculatorsRefuse(t *testing.T) {
	c := newTestServer(t).program(noActor)
	for _, op := range api.CalcOperations() {
		if op.Method != "get" || op.Path == "/openapi.json" {
			continue
		}
		good := url.Values{}
		for _, p := range op.Query {
			if p.Example != nil {
				good.Set(p.Name, exampleText(p.Example))
			}
		}
		c.get(op.Path+"?"+good.Encode()).want(t, 200)
		c.get(op.Path+"?"+good.Encode()+"&colour=red").wantProblem(t, 422, "colour", "api.unknown_parameter")
		for _, p := range op.Query {
			if p.Example == nil {
				continue
			}
			try := func(value string) page {
				q := url.Values{}
				for k, v := range good {
					q[k] = v
				}
				q.Set(p.Name, value)
				return c.get(op.Path + "?" + q.Encode())
			}
			c.get(op.Path+"?"+good.Encode()+"&"+p.Name+"=1").wantProblem(t, 422, p.Name, "api.twice")
			try("").wantProblem(t, 422, p.Name, "api.empty")
			if _, isNumber := p.Example.(float64); !isNumber {
				try("1").wantProblem(t, 422, p.Name, "")
				continue
			}
			for _, bad := range []string{"NaN", "Inf", "-Inf", "+Inf", "infinity", "1e400", "0x10", "1_0", "7,5",
				"seven", "--1", strings.Repeat("9", 70)} {
				try(bad).wantProblem(t, 422, p.Name, "number.not")
			}
			for _, far := range []string{"1e300", "-1e300"} {
				if r := try(far); r.Status != 422 {
					t.Errorf("%s with %s=%s: %d %s", op.Path, p.Name, far, r.Status, r.Body)
				}
			}
			if !p.Optional {
				q := url.Values{}
				for k, v := range good {
					if k != p.Name {
						q[k] = v
					}
				}
				c.get(op.Path+"?"+q.Encode()).wantProblem(t, 422, p.Name, "api.missing")
			}
		}
	}
	c.get("/calc/oxygen?temperature_c=50&altitude_m=0").wantProblem(t, 422, "temperature_c", "calc.between").
		want(t, 422, "It must be from 0\u00a0°C to 40\u00a0°C.")
	c.get("/calc/oxygen?temperature_c=5").wantProblem(t, 422, "pressure_kpa", "calc.pressure_or_altitude")
	c.get("/calc/oxygen?temperature_c=5&pressure_kpa=101&altitude_m=0").wantProblem(t, 422, "pressure_kpa",
		"calc.pressure_or_altitude")
	c.get("/calc/water-change?volume_l=200&now_mg_l=1&new_water_mg_l=0.8&target_mg_l=0.6").wantProblem(t, 422,
		"new_water_mg_l", "calc.between")
	c.get("/calc/survival?alive=11&total=10&level=0.95").wantProblem(t, 422, "alive", "number.whole_between")
	c.post("/calc/dead-count", `{"at_risk":10,"stage":"alevin","today":{"days":1,"dead":11}}`).wantProblem(t, 422,
		"today.dead", "")
	c.post("/calc/forecast", `{"species":"atlantic_salmon","start_on":"2026-01-01","development_index":0.5,"daily_c":[7,"x"]}`).
		wantProblem(t, 422, "daily_c[1]", "number.not")
	c.post("/calc/forecast", `{"species":"pike","start_on":"2026-01-01","development_index":0.5,"daily_c":[7]}`).wantProblem(t, 422, "species", "")
	c.post("/calc/setpoint", `{"species":"coho","on":"2026-01-01"}`).wantProblem(t, 422, "swim_up_by", "")
}
