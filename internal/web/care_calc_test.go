package web

import (
	"html"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/web/care"
)

// careFigure reads the number behind a label of an answer page.
func careFigure(t *testing.T, body, label string) float64 {
	t.Helper()
	m := regexp.MustCompile(regexp.QuoteMeta(label) + `:\s*(−?[\d,.]+)`).FindStringSubmatch(html.UnescapeString(body))
	if m == nil {
		t.Fatalf("no %q in %s", label, plainText(body))
	}
	v, err := strconv.ParseFloat(strings.NewReplacer("−", "-", ",", "").Replace(m[1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Rows of the reference values through the pages: the worked examples shown, and
// more. half is half of the last decimal that the page shows.
func TestCalculatorPagesGiveTheReferenceValues(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(noActor)
	worked, statistics := referenceRows(t, "worked_examples.csv"), referenceRows(t, "statistics.csv")
	models := referenceRows(t, "model_evaluation.csv")
	expected := func(rows []map[string]string, want map[string]string, column string) string {
		for _, row := range rows {
			ok := true
			for k, v := range want {
				ok = ok && row[k] == v
			}
			if ok {
				return row[column]
			}
		}
		t.Fatalf("no reference row %v", want)
		return ""
	}
	one := func(topic, inputs string) float64 {
		return toNumber(t, expected(worked, map[string]string{"topic": topic, "inputs": inputs}, "expected"))
	}
	bounds := strings.Split(expected(statistics, map[string]string{"method": "clopper_pearson",
		"inputs": "x=81 n=263 level=0.95"}, "expected"), ";")
	for _, c := range []struct {
		calc, query, label string
		want, within       float64
	}{
		{"oxygen", "temperature_c=10&pressure_kpa=101.325&measured_mg_l=9", "Measured, in percent of that",
			one("1.do_percent", "do=9.0;t_c=10;p_mmhg=760"), 0.1},
		{"oxygen", "temperature_c=7,5&pressure_kpa=101.325", "The water can hold",
			one("1.do_saturation", "t_c=7.5;p_mmhg=760"), 0.008},
		{"ammonia", "tan_mg_l=0.5&temperature_c=10&ph=7.4", "The same as N", one("2.nh3_n", "tan_n=0.5;t_c=10;ph=7.4"),
			0.000024},
		{"water-change", "volume_l=189&now_mg_l=1&new_water_mg_l=0&target_mg_l=0.4", "Share",
			one("3.fraction_needed", "c0=1.0;target=0.4;c_in=0.0"), 0.001},
		// 20 mg/L x 200 L x 2 x 84.007 / 100.087
		{"alkalinity", "volume_l=200&alkalinity_mg_l=10", "Baking soda today", 6.71, 0.1},
		{"dechlorination", "litres=20&chlorine_mg_l=1", "Solution of 10 g of crystals in a litre", 14, 0.06},
		{"water-change", "volume_l=200&now_mg_l=0.3&new_water_mg_l=0&target_mg_l=0.06", "Number of changes", 5, 0},
		{"dechlorination", "litres=40&chlorine_mg_l=1", "Sodium thiosulfate, pentahydrate crystals",
			one("3.thiosulfate_dose", "litres=40;cl2=1.0;ratio=7.0"), 0.0028},
		{"warming", "volume_l=189&ua_w_per_k=15.645&tank_c=10&room_c=22&limit_c=15&hours=12",
			"Temperature after that time", one("5.newton", "t0=10;t_room=22;litres=189.0;UA=15.645;hours=12"), 0.025},
		{"ice", "volume_l=189&from_c=14&to_c=10&ice_c=-18", "Ice", one("5.ice_lower", "kg=189;t0=14;t1=10;t_ice=-18"),
			0.08},
		{"tempering", "from_c=14&to_c=8&fraction_per_step=0.2&within_c=1", "Steps", 9, 0}, // ceil(ln(1/6)/ln(0.8)) = 9
		{"development", "species=atlantic_salmon&temperature_c=6", "Days to half hatched",
			toNumber(t, expected(models, map[string]string{"id": "AS-H1", "temp_C": "6"}, "days")), 0.06},
		{"survival", "alive=81&total=263&level=0.95", "Not less than", toNumber(t, bounds[0]), 0.00006},
		{"survival", "alive=81&total=263&level=0.95", "Not more than", toNumber(t, bounds[1]), 0.00006},
		{"condition", "weight_g=0.45&length_mm=38", "Condition factor", one("6.condition_fulton", "g=0.45;mm=38"),
			0.0046},
		{"ration", "fish=200&weight_g=0.5&feed_percent=3", "Dry food a day",
			one("6.ration", "fish=200;g_each=0.5;pct=3.0"), 0.015},
		// 1100 fish at 0.0002 a day: 0.22 expected
		{"dead-count", "at_risk=1100&stage=fry&days=1&dead=3", "Chance of so many in a healthy tank",
			toNumber(t, expected(statistics,
				map[string]string{"inputs": "x=3 mu=0.22 phi=2 a=2 (size r=mu/((phi-1)+mu/a))"}, "expected")), 0.00006},
		{"dead-count", "at_risk=1100&stage=fry&days=1&dead=3", "Dead expected", 0.22, 0.0001},
	} {
		p := b.get("/calculators/"+c.calc+"?asked=yes&"+c.query).want(t, 200, "Worked example", "Holds for", "Source")
		if got := careFigure(t, p.Body, c.label); math.Abs(got-c.want) > c.within {
			t.Errorf("%s?%s: %s %v, want %v", c.calc, c.query, c.label, got, c.want)
		}
	}
	list := b.get("/calculators").want(t, 200)
	for _, c := range care.CareCalcs() {
		if !strings.Contains(list.Body, "/calculators/"+c.ID+`"`) {
			t.Errorf("%s is not on the list", c.ID)
		}
		for _, lang := range []string{"en", "fr"} {
			b.lang = lang
			b.get("/calculators/"+c.ID).want(t, 200).lacks(t, "[care", `role="status"`)
			b.get("/calculators/"+c.ID+"?asked=yes&"+c.Example).want(t, 200, `role="status"`).lacks(t, "[care")
		}
		b.lang = "en"
	}
	b.get("/calculators/none").want(t, 404)
}

// Dates through the pages, from the published days at a steady temperature: with
// 300 thermal units at 6 C 50 of the 83.7 days to hatch are over; at index 0.9 and
// 7 C, 0.9 of the 71.9 days to hatch, which count towards those to swim-up.
func TestCalculatorPagesGiveDates(t *testing.T) {
	b := newTestServer(t).as(noActor)
	days := func(id, temperature string) float64 {
		for _, row := range referenceRows(t, "model_evaluation.csv") {
			if row["id"] == id && row["temp_C"] == temperature {
				return toNumber(t, row["days"])
			}
		}
		t.Fatalf("no row %s at %s", id, temperature)
		return 0
	}
	on := func(start string, ahead float64) string {
		return civil.MustParse(start).AddDays(int(math.Floor(ahead + 0.5))).String()
	}
	for _, x := range []struct{ query, label, want string }{
		{"forecast?species=atlantic_salmon&start_on=2026-01-10&thermal_units=300&mean_temperature_c=6&future_c=6",
			"Half hatched", on("2026-01-10", days("AS-H1", "6")-50)},
		{"forecast?species=atlantic_salmon&start_on=2026-01-10&thermal_units=300&mean_temperature_c=6&future_c=6",
			"Half at swim-up", on("2026-01-10", days("AS-S1", "6")-50)},
		{"setpoint?species=atlantic_salmon&on=2026-02-10&development_index=0.9&swim_up_by=2026-05-10&now_c=7&min_c=4&max_c=10&max_step_c_per_day=1", "If the water stays as it is",
			on("2026-02-10", days("AS-S1", "7")-0.9*days("AS-H1", "7"))},
	} {
		p := b.get("/calculators/"+strings.Replace(x.query, "?", "?asked=yes&", 1)).want(t, 200, `role="status"`)
		m := regexp.MustCompile(regexp.QuoteMeta(x.label) +
			`: (\d+ \w+ \d+)`).FindStringSubmatch(html.UnescapeString(p.Body))
		if m == nil {
			t.Fatalf("no %q in %s", x.label, plainText(p.Body))
		}
		if got, err := time.Parse("2 January 2006", m[1]); err != nil || got.Format(time.DateOnly) != x.want {
			t.Errorf("%s: %s %s, want %s", x.query, x.label, m[1], x.want)
		}
	}
	b.get("/calculators/setpoint?asked=yes&species=atlantic_salmon&on=2026-02-10&development_index=0.2&swim_up_by=2026-02-20&now_c=7&min_c=4&max_c=10&max_step_c_per_day=1").
		want(t, 200, "Not reachable: no safe setpoint brings swim-up by 20 February 2026")
	b.get("/calculators/dead-count?asked=yes&at_risk=200&stage=egg&days=1&dead=0").want(t, 200,
		"Not more dead than usual")
	b.get("/calculators/dead-count?asked=yes&at_risk=200&stage=egg&days=1&dead=40&history=0+1,0").want(t, 200,
		"Far more dead than usual")
	b.get("/calculators/ration?asked=yes&fish=200&weight_g=0.5&temperature_c=7&feed_percent=3").want(t, 422,
		"Give either the water temperature")
	// Deuel et al. 1952 (reference row 50 F, 1-2 in): 4.3 % at 10.0 C; 0.5179 g is the middle of that class.
	if got := careFigure(t, b.get("/calculators/ration?asked=yes&fish=1000&weight_g=0.5179&temperature_c=10").want(t,
		200).Body, "Share of body weight"); got != 4.3 {
		t.Errorf("food at 10 C: %v %%", got)
	}
}

// What the pages say beside the numbers.
func TestCalculatorPagesExplain(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(noActor)
	// Pressure of a weather report is that of the sea: the page asks for the true
	// one, and takes either it or the altitude.
	b.get("/calculators/oxygen?asked=yes&temperature_c=10&pressure_kpa=101&altitude_m=500").want(t, 422, "Give either")
	b.get("/calculators/oxygen").want(t, 200, "reduced to sea level")
	// As N and as NH3 are both told, and they differ by 1.216.
	p := b.get("/calculators/ammonia?asked=yes&tan_mg_l=100&temperature_c=10&ph=8").want(t, 200)
	nh3, n := careFigure(t, p.Body, "Un-ionised ammonia as NH3"), careFigure(t, p.Body, "The same as N")
	if math.Abs(nh3/n-1.2159) > 0.0005 {
		t.Errorf("NH3 %v, N %v", nh3, n)
	}
	b.get("/calculators/dechlorination?asked=yes&litres=40&chlorine_mg_l=1").want(t, 200,
		"Only adults handle this chemical")
}
