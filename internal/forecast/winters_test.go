package forecast

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// channel reads the daily means of the spawning channel record in place; the
// record is not part of this repository.
func channel(t testing.TB) []logbook.Reading {
	t.Helper()
	path := filepath.Join("..", "..", "..", "shared", "reference", "temperature",
		"spawning_channel_daily_2003_2016.csv")
	f, err := os.Open(path)
	if err != nil {
		if os.Getenv("REDDSIDE_REFERENCE") == "required" {
			t.Fatal(err)
		}
		t.Skip("the real temperature records are not here: ", err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []logbook.Reading
	for _, r := range rows[1:] {
		v, err := strconv.ParseFloat(r[5], 64)
		if err != nil {
			continue
		}
		out = append(out, logbook.Reading{On: civil.MustParse(r[2]), Temperature: units.Celsius(v),
			Quality: logbook.Good})
	}
	return out
}

// winter is the season of eggs fertilised and placed on 1 October of a year, with
// the record up to 31 July.
func winter(all []logbook.Reading, year int) *logbook.Season {
	on := civil.Of(year, 10, 1)
	end := civil.Of(year+1, 7, 31)
	s := &logbook.Season{ID: logbook.ID(fmt.Sprint(year)), Lot: logbook.Lot{Species: logbook.AtlanticSalmon,
		FertilisedOn: on},
		Deliveries: []logbook.Delivery{{On: on, Count: 1000, Stage: logbook.GreenEgg}}}
	for _, r := range all {
		if !r.On.Before(on) && !r.On.After(end) {
			s.Readings = append(s.Readings, r)
		}
	}
	return s
}

// Real winters: the forecast runs on each, gaps are marked, and every day's
// forecast, made with only what was known then, is compared with the dates of the
// whole record. A winter counts when the record reaches its swim-up.
func TestRealWinters(t *testing.T) {
	all := channel(t)
	days, inside := map[Event]int{}, map[Event]int{}
	t.Log("winter  days  missing  eyed        hatch       swim-up    | days of forecasts inside: eyed hatch swim-up")
	winters := 0
	for year := 2003; year <= 2015; year++ {
		s := winter(all, year)
		if len(s.Readings) < 60 {
			t.Logf("%d: only %d days of record, left out", year, len(s.Readings))
			continue
		}
		last := s.Readings[len(s.Readings)-1].On
		final := Compute(Input{Season: s, Today: last})
		if !final.Ok() {
			t.Fatalf("%d: %s", year, final.Reason)
		}
		missing := 0
		for i := range final.Days {
			d := &final.Days[i]
			if d.On.After(last) {
				break
			}
			if d.Estimated {
				missing++
				if d.Source != Interpolated {
					t.Errorf("%d %v: a gap is %q", year, d.On, d.Source)
				}
			}
		}
		if span := last.Sub(final.StartOn) + 1; missing != span-len(s.Readings) || missing != final.EstimatedDays {
			t.Errorf("%d: %d days marked estimated (%d in the result), want %d", year, missing, final.EstimatedDays,
				span-len(s.Readings))
		}
		row := fmt.Sprintf("%d-%02d  %4d  %6d ", year, (year+1)%100, len(s.Readings), missing)
		tail := ""
		for _, e := range Events() {
			when, ok := reached(&final, e)
			if !ok || when.After(last) {
				row += "  not reached"
				continue
			}
			row += "  " + when.String()
			n, in := 0, 0
			for d := s.Readings[0].On; d.Before(when); d = d.AddDays(1) {
				r := Compute(Input{Season: s, Today: d})
				w := r.Window(e)
				n++
				if !when.Before(w.P10) && !when.After(w.P90) {
					in++
				}
			}
			days[e] += n
			inside[e] += in
			tail += fmt.Sprintf("  %d/%d", in, n)
		}
		t.Log(row, "|", tail)
		winters++
	}
	if winters < 8 {
		t.Errorf("only %d winters", winters)
	}
	n, in := 0, 0
	for _, e := range Events() {
		t.Logf("%s: window holds the final date on %.1f %% of %d days", e, 100*float64(inside[e])/float64(days[e]),
			days[e])
		n, in = n+days[e], in+inside[e]
	}
	t.Logf("all: %.1f %%", 100*float64(in)/float64(n))
	// The whole, and the events that the page is about. Eyed alone falls short: in
	// October nothing yet tells an unchilled channel how fast it will cool.
	for name, share := range map[string]float64{"all events": float64(in) / float64(n),
		"hatch":   float64(inside[Hatch]) / float64(days[Hatch]),
		"swim-up": float64(inside[SwimUp]) / float64(days[SwimUp])} {
		if share < 0.75 || share > 0.90 {
			t.Errorf("%s: the window holds the final date on %.1f %% of days", name, 100*share)
		}
	}
}

// reached returns the date on which the model's own sum reaches an event, from
// the daily table alone.
func reached(r *Result, e Event) (civil.Date, bool) {
	want := map[Event]float64{Eyed: 0.5, Hatch: 1, SwimUp: 1.7}[e]
	for i := range r.Days {
		if r.Days[i].Index >= want {
			return r.Days[i].On, true
		}
	}
	return civil.Date{}, false
}
