package web

import (
	"encoding/json"
	"fmt"
	"html"
	"net/url"
	"strings"
	"testing"

	"reddside/internal/api"
	"reddside/internal/units"
	"reddside/internal/web/care"
)

// calcRefusal is one input of a calculation with values on both sides of its
// range ("" where a side is open to no end) and the words that name the range.
type calcRefusal struct {
	calc, field, below, above string
	names                     []string
}

// calcRefusals are all inputs of all calculators. The ends are those that the
// description of the interface states.
func calcRefusals() []calcRefusal {
	c := func(calc, field, below, above string, names ...string) calcRefusal {
		return calcRefusal{calc, field, below, above, names}
	}
	years, water, fish := []string{"1900", "2200"}, []string{"−5", "35"}, []string{"1,000,000"}
	return []calcRefusal{
		c("oxygen", "temperature_c", "-0.1", "40.1", "0 °C", "40 °C"), c("oxygen", "pressure_kpa", "64", "111", "65",
			"110"),
		c("oxygen", "altitude_m", "-501", "3001", "−500", "3000"), c("oxygen", "measured_mg_l", "-1", "71", "0 mg/L",
			"70"),
		c("ammonia", "tan_mg_l", "-0.1", "5001", "0 mg/L", "5000"), c("ammonia", "temperature_c", "-0.1", "50.1",
			"0 °C", "50"), c("ammonia", "ph", "-0.1", "14.1", "0", "14"),
		c("water-change", "volume_l", "0", "100001", "0.01", "100,000"), c("water-change", "now_mg_l", "-1", "1000001",
			"0 mg/L", "1,000,000"),
		c("water-change", "new_water_mg_l", "-1", "0.5", "0 mg/L"), c("water-change", "new_water_mg_l", "", "0.5",
			"0.4"), c("water-change", "target_mg_l", "-1", "", "0"),
		c("dechlorination", "litres", "0", "100001", "0.01", "100,000"), c("dechlorination", "chlorine_mg_l", "-1",
			"10.1", "0 mg/L", "10"),
		c("alkalinity", "volume_l", "0", "100001", "0.01", "100,000"), c("alkalinity", "alkalinity_mg_l", "-1", "1001",
			"0 mg/L", "1000"),
		c("warming", "volume_l", "0", "100001", "0.01", "100,000"), c("warming", "ua_w_per_k", "0", "10001", "0.001",
			"10,000"),
		c("warming", "tank_c", "-1", "51", "0 °C", "50"), c("warming", "room_c", "-41", "61", "−40", "60"),
		c("warming", "limit_c", "-1", "51", "0 °C", "50"),
		c("warming", "heat_w", "-1", "100000000", "0"), c("warming", "hours", "-1", "10001", "0 h", "10,000"),
		c("ice", "volume_l", "0", "100001", "0.01", "100,000"), c("ice", "from_c", "-1", "51", "0 °C", "50"),
		c("ice", "to_c", "-1", "15", "0 °C", "14"), c("ice", "ice_c", "-41", "1", "−40", "0 °C"),
		c("tempering", "from_c", "-1", "41", "0 °C", "40"), c("tempering", "to_c", "-1", "41", "0 °C", "40"),
		c("tempering", "fraction_per_step", "0", "1.1", "0.01", "1"), c("tempering", "within_c", "0", "21", "0.01",
			"20"),
		c("development", "species", "", ""), c("development", "temperature_c", "-6", "36", water...),
		c("survival", "alive", "-1", "264", "0", "263"), c("survival", "total", "0", "1000001", append(fish, "1")...),
		c("survival", "level", "0.4", "1", "0.5", "0.9999"),
		c("condition", "weight_g", "0", "10001", "0.01", "10,000"), c("condition", "length_mm", "9", "1001", "10",
			"1000"),
		c("forecast", "species", "", ""), c("forecast", "start_on", "1899-12-31", "2201-01-01", years...),
		c("forecast", "thermal_units", "-1", "3001", "0", "3000"),
		c("forecast", "mean_temperature_c", "0", "36", "0.0 °C", "35"), c("forecast", "future_c", "-6", "36", water...),
		c("setpoint", "species", "", ""), c("setpoint", "on", "1899-12-31", "2201-01-01", years...),
		c("setpoint", "development_index", "-0.1", "2.1", "0", "2"),
		c("setpoint", "swim_up_by", "2026-02-10", "", "later than 10 February 2026"),
		c("setpoint", "now_c", "-6", "36", water...),
		c("setpoint", "min_c", "-6", "36", water...), c("setpoint", "max_c", "-6", "36", water...),
		c("setpoint", "max_step_c_per_day", "0", "20.1", "above 0", "20"),
		c("dead-count", "at_risk", "0", "1000001", fish...), c("dead-count", "stage", "", ""),
		c("dead-count", "days", "0", "401", "1", "400"),
		c("dead-count", "dead", "-1", "1101", "0", "1100"), c("dead-count", "history", "-1", "1000001", fish...),
		c("ration", "fish", "0", "1000001", fish...), c("ration", "weight_g", "0", "10001", "0.05", "10,000"),
		c("ration", "temperature_c", "2.1", "12.9", "2.2", "12.8"), c("ration", "feed_percent", "-0.1", "15.1", "0 %",
			"15"),
	}
}

// calcNonsense is no value of any input, except "" of one that may be left out.
var calcNonsense = []string{"", "a lot", "NaN", "Infinity", "1e400", "--1", "0x10", strings.Repeat("9", 60),
	"-" + strings.Repeat("9", 60)}

// Every input of every calculator page and of every calculator of the interface
// that is asked by address, outside its range, empty, text, no number or huge:
// 422, the input and its range named, and no answer.
func TestEveryCalculationRefuses(t *testing.T) {
	ts := newTestServer(t)
	b, prog, en := ts.as(noActor), ts.program(noActor), ts.Cat.Printer("en", units.Cel)
	overAPI := map[string]bool{}
	for _, op := range api.CalcOperations() {
		if op.Method == "get" {
			overAPI[strings.TrimPrefix(op.Path, "/calc/")] = true
		}
	}
	seen, asked := map[string]bool{}, 0
	for _, x := range calcRefusals() {
		seen[x.calc+" "+x.field] = true
		c, ok := care.CareCalcOf(x.calc)
		if !ok {
			t.Fatalf("no calculator %s", x.calc)
		}
		optional := false
		for _, in := range c.In {
			optional = optional || in.Name == x.field && in.Optional
		}
		try := func(value string, names []string) {
			q, err := url.ParseQuery(c.Example)
			ts.must(err)
			q.Set(x.field, value)
			switch { // either of two, not both
			case x.field == "altitude_m":
				q.Del("pressure_kpa")
			case x.calc == "ration" && x.field == "temperature_c":
				q.Del("feed_percent")
			}
			asked++
			if overAPI[x.calc] {
				p := prog.get("/calc/" + x.calc + "?" + q.Encode())
				calcRefused(t, p, x.calc+"?"+q.Encode(), p.Body, x.field, names)
			}
			if value == "" && optional && x.field != "pressure_kpa" && x.field != "altitude_m" && x.calc != "ration" {
				return // left out
			}
			q.Set("asked", "yes")
			p := b.get("/calculators/" + x.calc + "?" + q.Encode())
			label := en.T("care_calc.in." + x.field)
			if x.field == "altitude_m" && value == "" {
				label = en.T("care_calc.in.pressure_kpa") // of the two, the first is named
			} else if x.field == "feed_percent" && value == "" {
				label = en.T("care_calc.in.temperature_c")
			}
			calcRefused(t, p, "page "+x.calc+"?"+q.Encode(), calcSummary(p), label, names)
			if strings.Contains(p.Body, `role="status"`) || !strings.Contains(p.Body, en.T("care_calc.range")) {
				t.Errorf("page %s?%s answers, or does not tell what it holds for", x.calc, q.Encode())
			}
		}
		for _, value := range calcNonsense {
			try(value, nil)
		}
		for _, value := range []string{x.below, x.above} {
			if value != "" {
				try(value, x.names)
			}
		}
	}
	for _, c := range care.CareCalcs() {
		for _, in := range c.In {
			if !seen[c.ID+" "+in.Name] {
				t.Errorf("%s of %s is not tried", in.Name, c.ID)
			}
		}
	}
	for name := range overAPI {
		if _, ok := care.CareCalcOf(name); !ok && name != "/openapi.json" {
			t.Errorf("calc/%s has no page", name)
		}
	}
	t.Logf("%d wrong inputs", asked)
}

// calcSummary is the list of problems at the top of a page.
func calcSummary(p page) string {
	_, rest, _ := strings.Cut(p.Body, `id="summary"`)
	list, _, _ := strings.Cut(rest, "</ul>")
	return html.UnescapeString(list)
}

// calcRefused checks a refusal: its status, and that its text names the input and
// the ends of the range.
func calcRefused(t *testing.T, p page, what, text, field string, names []string) {
	t.Helper()
	if p.Status != 422 || !strings.Contains(text, field) {
		t.Errorf("%s: %d, and %q is not named: %s", what, p.Status, field, text)
	}
	text = strings.ReplaceAll(text, "\u00a0", " ")
	for _, n := range names {
		if !strings.Contains(text, n) {
			t.Errorf("%s does not tell %q: %s", what, n, text)
		}
	}
}

// Every part of the body of every calculation that is asked by one.
func TestEveryCalculationWithABodyRefuses(t *testing.T) {
	ts := newTestServer(t)
	prog := ts.program(noActor)
	years, water := []string{"1900", "2200"}, []string{"−5", "35"}
	const (
		asForecast = `{"species":"atlantic_salmon","start_on":"2026-01-10","thermal_units":310,"mean_temperature_c":6.2,"daily_c":[6.8,null],"future_c":7,"observed":[{"event":"hatch","after":"2026-01-10","on_or_before":"2026-01-11"}]}`
		asIndex    = `{"species":"atlantic_salmon","start_on":"2026-01-10","development_index":0.5,"daily_c":[6.8]}`
		asSetpoint = `{"species":"atlantic_salmon","on":"2026-02-10","development_index":0.9,"swim_up_by":"2026-05-10","now_c":7,"min_c":4,"max_c":10,"max_step_c_per_day":1}`
		asDead     = `{"at_risk":190,"stage":"eyed_egg","history":[{"days":1,"dead":0}],"today":{"days":1,"dead":2}}`
	)
	bodies, asked := 0, 0
	for _, op := range api.CalcOperations() {
		if op.Method == "post" {
			bodies++
		}
	}
	tried := map[string]bool{}
	for _, x := range []struct {
		calc, body, field string
		below, above      string // as JSON
		names             []string
		optional          bool
	}{
		{"forecast", asForecast, "species", `""`, `"pike"`, nil, false},
		{"forecast", asForecast, "start_on", `"1899-12-31"`, `"2201-01-01"`, years, false},
		{"forecast", asForecast, "thermal_units", `-1`, `3001`, []string{"0", "3000"}, true},
		{"forecast", asForecast, "mean_temperature_c", `0`, `36`, []string{"0.0 °C", "35"}, false},
		{"forecast", asForecast, "daily_c[0]", `-6`, `36`, water, true},
		{"forecast", asForecast, "future_c", `-6`, `36`, water, true},
		{"forecast", asForecast, "observed[0].event", `""`, `"spawning"`, nil, false},
		{"forecast", asForecast, "observed[0].after", `"2026-01-32"`, `"2026-02-30"`, nil, true},
		{"forecast", asForecast, "observed[0].on_or_before", `"2026-01-09"`, `"2026-01-12"`, nil, true},
		{"forecast", asIndex, "development_index", `-0.1`, `2.1`, []string{"0", "2"}, false},
		{"setpoint", asSetpoint, "species", `""`, `"pike"`, nil, false},
		{"setpoint", asSetpoint, "on", `"1899-12-31"`, `"2201-01-01"`, years, false},
		{"setpoint", asSetpoint, "development_index", `-0.1`, `2.1`, []string{"0", "2"}, false},
		{"setpoint", asSetpoint, "swim_up_by", `"2026-02-10"`, `"2201-01-01"`, nil, false},
		{"setpoint", asSetpoint, "now_c", `-6`, `36`, water, false},
		{"setpoint", asSetpoint, "min_c", `-6`, `36`, water, false},
		{"setpoint", asSetpoint, "max_c", `-6`, `36`, water, false},
		{"setpoint", asSetpoint, "max_step_c_per_day", `0`, `20.1`, []string{"above 0", "20"}, false},
		{"dead-count", asDead, "at_risk", `0`, `1000001`, []string{"1,000,000"}, false},
		{"dead-count", asDead, "stage", `""`, `"egg yolk"`, nil, false},
		{"dead-count", asDead, "history[0].days", `0`, `401`, []string{"1", "400"}, false},
		{"dead-count", asDead, "history[0].dead", `-1`, `1000001`, []string{"1,000,000"}, false},
		{"dead-count", asDead, "today.days", `0`, `401`, []string{"1", "400"}, false},
		{"dead-count", asDead, "today.dead", `-1`, `191`, []string{"0", "190"}, false},
	} {
		tried[x.calc] = true
		prog.post("/calc/"+x.calc, x.body).want(t, 200)
		try := func(value string, names []string) {
			body := calcWith(t, x.body, x.field, value)
			p := prog.post("/calc/"+x.calc, body)
			asked++
			calcRefused(t, p, x.calc+" "+body, p.Body, x.field, names)
		}
		try(x.below, x.names)
		try(x.above, x.names)
		for _, value := range []string{`"a lot"`, `"NaN"`, `1e400`, `-1e400`, `true`, `[]`, `{}`,
			strings.Repeat("9", 60)} {
			try(value, nil)
		}
		if !x.optional { // empty is the same as left out
			try("null", nil)
			try(`""`, nil)
		}
		// no JSON at all: a bad request, as for every body
		for _, value := range []string{"NaN", "Infinity", "-Infinity", ""} {
			asked++
			prog.post("/calc/"+x.calc, calcWith(t, x.body, x.field, value)).want(t, 400, "api.not_json")
		}
	}
	if len(tried) != bodies {
		t.Errorf("%d of %d calculations tried", len(tried), bodies)
	}
	t.Logf("%d wrong bodies", asked)
}

// calcWith puts a raw value in place of one in a JSON body.
func calcWith(t *testing.T, body, field, raw string) string {
	t.Helper()
	var tree any
	if err := json.Unmarshal([]byte(body), &tree); err != nil {
		t.Fatal(err)
	}
	const mark = "\x01"
	at := tree
	steps := strings.FieldsFunc(field, func(r rune) bool { return strings.ContainsRune(".[]", r) })
	for i, s := range steps {
		last := i == len(steps)-1
		switch v := at.(type) {
		case map[string]any:
			if last {
				v[s] = mark
			}
			at = v[s]
		case []any:
			var n int
			if _, err := fmt.Sscan(s, &n); err != nil {
				t.Fatal(err)
			}
			if last {
				v[n] = mark
			}
			at = v[n]
		}
	}
	out, err := json.Marshal(tree)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Replace(string(out), `"\u0001"`, raw, 1)
}
