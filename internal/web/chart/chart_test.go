package chart

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

var start = civil.MustParse("2026-01-10")

func printer(t *testing.T, lang string, unit units.TemperatureUnit) *i18n.Printer {
	t.Helper()
	c, err := i18n.Load()
	if err != nil {
		t.Fatal(err)
	}
	return c.Printer(lang, unit)
}

// season is an invented season of 30 days at 7 degrees with a missing day, a day
// without a count, counts of 0, a late and a corrected check.
func season() *logbook.Season {
	s := &logbook.Season{
		Site: logbook.Site{Name: "Aldermoss School", Zone: "America/Halifax", TemperatureUnit: units.Cel},
		Tank: logbook.Tank{Name: "</script><script>alert(1)</script>", Setpoint: units.Some[units.Celsius](7),
			HasChiller: true},
		Lot: logbook.Lot{Species: logbook.AtlanticSalmon, FertilisedOn: start.AddDays(-60)},
		Deliveries: []logbook.Delivery{{On: start, Count: 200, Stage: logbook.EyedEgg,
			ThermalUnits: units.Some[units.ThermalUnits](300), MeanTemperature: units.Some[units.Celsius](5)}},
	}
	for i := range 30 {
		if i == 12 {
			continue // nobody came
		}
		on := start.AddDays(i)
		c := logbook.Check{On: on, Slot: logbook.Morning, Temperature: units.Some(units.Celsius(7 + 0.1*float64(i%3))),
			DeadEggs: units.Some(i % 2),
			Entry:    logbook.Entry{Revision: 1, ReceivedAt: on.Start(time.UTC).Add(14 * time.Hour)}}
		switch i {
		case 5:
			c.DeadEggs = units.None[int]()
		case 8:
			c.ReceivedAt = c.ReceivedAt.AddDate(0, 0, 4)
		case 9:
			c.Revision = 2
		}
		s.Checks = append(s.Checks, c)
	}
	return s
}

func figures(t *testing.T, s *logbook.Season, today civil.Date, p *i18n.Printer) map[string]Figure {
	t.Helper()
	f := forecast.Compute(forecast.Input{Season: s, Today: today})
	list, err := Figures(Input{Season: s, Today: today, Forecast: &f, P: p,
		Bands: []Band{{start, start.AddDays(100), 4, 10}}})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]Figure{}
	for _, fig := range list {
		out[fig.Name] = fig
	}
	return out
}

// option reads the JSON of a chart as a browser does.
func option(t *testing.T, c Chart) map[string]any {
	t.Helper()
	raw, err := c.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(raw), "<") {
		t.Errorf("%s: a bare < in the JSON", c.ID)
	}
	var o map[string]any
	if err := json.Unmarshal(raw, &o); err != nil {
		t.Fatal(err)
	}
	return o
}

// values returns the values of a series by date; a gap is nil.
func values(t *testing.T, o map[string]any, id string) map[string]any {
	t.Helper()
	for _, x := range o["series"].([]any) {
		s := x.(map[string]any)
		if s["id"] != id {
			continue
		}
		if s["connectNulls"] == true {
			t.Errorf("%s joins gaps", id)
		}
		out := map[string]any{}
		for _, d := range s["data"].([]any) {
			pair := d.(map[string]any)["value"].([]any)
			out[pair[0].(string)] = pair[1]
		}
		return out
	}
	t.Fatalf("no series %s", id)
	return nil
}

func TestGapsAreNullAndZeroIsZero(t *testing.T) {
	f := figures(t, season(), start.AddDays(29), printer(t, "en", units.Cel))
	temp := values(t, option(t, f["temperature"].Charts[0]), "checks")
	if v, ok := temp[start.AddDays(12).String()]; !ok || v != nil {
		t.Errorf("the missing day is %v (in the data: %v), want null", v, ok)
	}
	if v := temp[start.AddDays(1).String()]; v != 7.1 {
		t.Errorf("second day %v, want 7.1", v)
	}
	dead := values(t, option(t, f["dead"].Charts[0]), "dead")
	for i, want := range map[int]any{0: 0.0, 1: 1.0, 4: 0.0, 5: nil, 12: nil} {
		if got, ok := dead[start.AddDays(i).String()]; !ok || got != want {
			t.Errorf("day %d: %v, want %v", i, got, want)
		}
	}
	// A counted 0 has a mark of its own; a day without a count has none.
	rings := values(t, option(t, f["dead"].Charts[0]), "counted")
	if _, ok := rings[start.String()]; !ok {
		t.Error("a counted 0 cannot be told from a day without a count")
	}
	if _, ok := rings[start.AddDays(12).String()]; ok {
		t.Error("a day without a count has a mark")
	}
}

func TestLateAndCorrectedHaveTheirSymbol(t *testing.T) {
	f := figures(t, season(), start.AddDays(29), printer(t, "en", units.Cel))
	o := option(t, f["temperature"].Charts[0])
	got := map[string]any{}
	for _, x := range o["series"].([]any) {
		s := x.(map[string]any)
		if s["id"] == "checks" {
			for _, d := range s["data"].([]any) {
				item := d.(map[string]any)
				got[item["value"].([]any)[0].(string)] = item["symbol"]
			}
		}
	}
	for i, want := range map[int]any{7: nil, 8: symLate, 9: symCorrected} {
		if got[start.AddDays(i).String()] != want {
			t.Errorf("day %d has symbol %v, want %v", i, got[start.AddDays(i).String()], want)
		}
	}
	if len(f["temperature"].Keys) != 2 {
		t.Errorf("keys %v", f["temperature"].Keys)
	}
	var marks []string
	for _, row := range f["temperature"].Table.Rows {
		if m := row[len(row)-1].Raw; m != "" {
			marks = append(marks, m)
		}
	}
	if strings.Join(marks, " ") != "late corrected" {
		t.Errorf("marks in the table: %v", marks)
	}
}

// All charts cover the same days, and none joins two value axes.
func TestChartsShareOneAxis(t *testing.T) {
	f := figures(t, season(), start.AddDays(20), printer(t, "fr", units.Cel))
	if len(f) != 3 || len(f["development"].Charts) != 2 {
		t.Fatalf("figures: %d", len(f))
	}
	var min, max any
	for _, fig := range f {
		for _, c := range fig.Charts {
			o := option(t, c)
			x, y := o["xAxis"].([]any), o["yAxis"].([]any)
			if len(x) != 1 || len(y) != 1 {
				t.Fatalf("%s: %d x and %d y axes", c.ID, len(x), len(y))
			}
			axis := x[0].(map[string]any)
			if min == nil {
				min, max = axis["min"], axis["max"]
			}
			if axis["min"] != min || axis["max"] != max || axis["type"] != "time" || axis["minInterval"] != 86400000.0 {
				t.Errorf("%s: axis %v", c.ID, axis)
			}
			if o["tooltip"].(map[string]any)["renderMode"] != "richText" {
				t.Errorf("%s: the tooltip needs inline styles", c.ID)
			}
			named := 0
			for _, s := range o["series"].([]any) {
				if s.(map[string]any)["name"] != nil {
					named++
				}
			}
			if named > 4 {
				t.Errorf("%s: %d named series", c.ID, named)
			}
			if c.Describe == "" || fig.Finding == "" || strings.Contains(c.Describe+fig.Finding+fig.Title+c.Title,
				"[") {
				t.Errorf("%s: %q %q", c.ID, c.Describe, fig.Finding)
			}
		}
		for _, row := range fig.Table.Rows {
			if len(row) != len(fig.Table.Columns) {
				t.Fatalf("%s: a row of %d cells under %d heads", fig.Name, len(row), len(fig.Table.Columns))
			}
		}
	}
}

func TestForecastIsDashedAndStartsToday(t *testing.T) {
	today := start.AddDays(20)
	f := figures(t, season(), today, printer(t, "en", units.Cel))
	for _, c := range f["development"].Charts {
		o := option(t, c)
		past, ahead := values(t, o, "sum"), values(t, o, "forecast")
		if past[today.String()] == nil || past[today.String()] != ahead[today.String()] {
			t.Errorf("%s: the lines do not meet today", c.ID)
		}
		if _, ok := past[today.AddDays(1).String()]; ok {
			t.Errorf("%s: a day ahead is drawn as measured", c.ID)
		}
		raw, _ := c.JSON()
		if !strings.Contains(string(raw), `"type":"dashed"`) || !strings.Contains(string(raw), `"name":"forecast"`) {
			t.Errorf("%s: the forecast is not marked as one", c.ID)
		}
		if !strings.Contains(string(raw), `"name":"Hatch","xAxis"`) {
			t.Errorf("%s: no window of hatch", c.ID)
		}
	}
}

func TestFahrenheitReaders(t *testing.T) {
	f := figures(t, season(), start.AddDays(29), printer(t, "en", units.DegF))
	temp := values(t, option(t, f["temperature"].Charts[0]), "checks")
	if v := temp[start.String()]; v != 44.6 { // 7 C = 44.6 F by definition
		t.Errorf("7 C is drawn as %v", v)
	}
	if raw := f["temperature"].Table.Rows[0][1].Raw; raw != "7.00" {
		t.Errorf("CSV is always Celsius, got %s", raw)
	}
}

// A season of 90 days with a reading every 15 minutes is drawn from 90 days.
func TestManyReadingsBecomeDays(t *testing.T) {
	s := season()
	loc := s.Site.Location()
	at := start.Start(loc)
	for i := range 8640 {
		on := at.Add(time.Duration(i) * 15 * time.Minute)
		r := logbook.Reading{At: on, On: civil.In(on, loc),
			Temperature: units.Celsius(7 + math.Sin(2*math.Pi*float64(i)/96)), Quality: logbook.Good}
		if i == 1000 {
			r.Temperature, r.Quality = 85, logbook.Suspect
		}
		s.Readings = append(s.Readings, r)
	}
	days := Daily(s.Readings)
	if len(days) < 90 || len(days) > 91 {
		t.Fatalf("%d days", len(days))
	}
	// A whole period of a sine: mean 7, from 6 to 8.
	d := days[20]
	if d.Good != 96 || math.Abs(float64(d.Mean)-7) > 1e-9 || math.Abs(float64(d.Min)-6) > 1e-9 ||
		math.Abs(float64(d.Max)-8) > 1e-9 {
		t.Errorf("day %+v", d)
	}
	f := figures(t, s, start.AddDays(95), printer(t, "en", units.Cel))
	raw, _ := f["temperature"].Charts[0].JSON()
	if len(raw) > 40_000 {
		t.Errorf("the chart takes %d bytes", len(raw))
	}
	o := option(t, f["temperature"].Charts[0])
	bad := civil.In(at.Add(1000*15*time.Minute), loc).String()
	top := o["yAxis"].([]any)[0].(map[string]any)["max"].(float64)
	if v := values(t, o, "suspect")[bad]; v != top || top > 12 {
		t.Errorf("the suspect 85 C stands at %v on an axis up to %v", v, top)
	}
	if !strings.Contains(string(raw), "85.0\u00a0°C") {
		t.Error("the suspect value is not named")
	}
}

func TestDailyWeighsByTime(t *testing.T) {
	on := civil.MustParse("2026-02-01")
	base := on.Start(time.UTC)
	r := func(h float64, c units.Celsius) logbook.Reading {
		return logbook.Reading{At: base.Add(time.Duration(h * float64(time.Hour))), On: on, Temperature: c,
			Quality: logbook.Good}
	}
	// 4 at 0 h, 8 at 12 h, 8 at 13 h: weights 12+12, 12+1, 1+1 of 39.
	days := Daily([]logbook.Reading{r(0, 4), r(12, 8), r(13, 8)})
	if want := (24*4 + 13*8 + 2*8) / 39.0; math.Abs(float64(days[0].Mean)-want) > 1e-12 {
		t.Errorf("mean %v, want %v", days[0].Mean, want)
	}
	mean := Daily([]logbook.Reading{{On: on, Temperature: 6.5, Quality: logbook.Good}})
	if mean[0].Mean != 6.5 || mean[0].Good != 1 {
		t.Errorf("a daily mean: %+v", mean[0])
	}
	if only := Daily([]logbook.Reading{{On: on, Temperature: 90, Quality: logbook.Suspect}}); only[0].Good != 0 ||
		only[0].Mean != 0 || only[0].Suspects != 1 {
		t.Errorf("only a suspect reading: %+v", only[0])
	}
	if Daily(nil) != nil {
		t.Error("no readings, no days")
	}
}

func TestNothingToDraw(t *testing.T) {
	s := season()
	s.Checks, s.Deliveries = nil, nil
	if f := figures(t, s, start, printer(t, "en", units.Cel)); len(f) != 0 {
		t.Errorf("%d figures of an empty season", len(f))
	}
}

// Lines and marks have at least 3:1 against the sheet, text 4.5:1, in both
// palettes, by the relative luminance of WCAG 2.2.
func TestPaletteContrast(t *testing.T) {
	script, err := os.ReadFile(filepath.Join("..", "..", "..", "static", "charts.js"))
	if err != nil {
		t.Fatal(err)
	}
	block := regexp.MustCompile(`(?s)(light|dark): \{(.*?)\}`)
	pair := regexp.MustCompile(`(\w+): '(#[0-9a-f]{6})'`)
	found := block.FindAllStringSubmatch(string(script), -1)
	if len(found) != 2 {
		t.Fatalf("%d palettes", len(found))
	}
	names := map[string]bool{}
	for _, c := range []string{colInk, colSoft, colGrid, colCheck, colLogger, colRange, colSet, colSafe, colSuspect,
		colWindow, colDead} {
		names[strings.TrimPrefix(c, "@")] = true
	}
	for _, m := range found {
		colour := map[string]string{}
		for _, p := range pair.FindAllStringSubmatch(m[2], -1) {
			colour[p[1]] = p[2]
		}
		for name := range names {
			if colour[name] == "" {
				t.Errorf("%s: no colour %s", m[1], name)
			}
		}
		for _, c := range []struct {
			front string
			least float64
		}{{"ink", 4.5}, {"soft", 4.5}, {"check", 3}, {"logger", 3}, {"setpoint", 3}, {"suspect", 3}, {"dead", 3}} {
			for _, back := range []string{"sheet", "safe", "range", "window"} {
				least := c.least
				if c.front == "soft" && back != "sheet" {
					least = 3 // only lines are soft on areas
				}
				if got := contrast(colour[c.front], colour[back]); got < least {
					t.Errorf("%s: %s on %s has %.2f, want %.1f", m[1], c.front, back, got, least)
				}
			}
		}
	}
}

// contrast is the ratio of WCAG 2.2, SC 1.4.3 and 1.4.11 (formula from memory).
func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func luminance(hex string) float64 {
	var sum float64
	for i, w := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			return math.NaN()
		}
		v := float64(n) / 255
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		sum += w * v
	}
	return sum
}

// Months of empty future are left out where only some days ahead are asked for, and
// the forecast is a band: no width today, and as wide as the window of hatch where
// the lines reach half hatched.
func TestSomeDaysAhead(t *testing.T) {
	today := start.AddDays(20)
	s := season()
	r := forecast.Compute(forecast.Input{Season: s, Today: today})
	f, err := Figures(Input{Season: s, Today: today, Forecast: &r, Ahead: 14, P: printer(t, "en", units.Cel)})
	if err != nil {
		t.Fatal(err)
	}
	for _, fig := range f {
		for _, c := range fig.Charts {
			if end := option(t, c)["xAxis"].([]any)[0].(map[string]any)["max"]; end != today.AddDays(14).String() {
				t.Errorf("%s ends on %v", c.ID, end)
			}
		}
	}
	b := newBuilder(Input{Season: s, Today: today, Forecast: &r, P: printer(t, "en", units.Cel)})
	days, low, high := b.paces()
	if len(days) < 10 || low[0] != high[0] {
		t.Fatalf("%d days, from %v to %v today", len(days), low, high)
	}
	for i, d := range days {
		if d == r.Hatch.P10 && math.Abs(high[i]-1) > 0.03 {
			t.Errorf("the fast end is at %.3f on the first day of the window", high[i])
		}
		if d == r.Hatch.P90 && math.Abs(low[i]-1) > 0.03 {
			t.Errorf("the slow end is at %.3f on the last day of the window", low[i])
		}
	}
	if end := days[len(days)-1]; end != r.Hatch.P90 {
		t.Errorf("the band ends on %s, the window on %s", end, r.Hatch.P90)
	}
}
