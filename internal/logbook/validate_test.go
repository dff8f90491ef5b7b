package logbook

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"reddside/internal/civil"
	"reddside/internal/units"
)

func day(s string) civil.Date { return civil.MustParse(s) }

func testSeason() *Season {
	return &Season{
		ID: NewID(), Site: Site{Zone: "America/Halifax", TemperatureUnit: units.Cel}, Lot: Lot{Species: AtlanticSalmon},
		Deliveries: []Delivery{{On: day("2026-01-10"), Count: 200}},
		Checks: []Check{
			{ID: NewID(), On: day("2026-01-11"), Slot: Morning, Temperature: units.Some(units.Celsius(7)),
				DeadEggs: units.Some(2), Stage: EyedEgg},
			{ID: NewID(), On: day("2026-01-12"), Slot: Morning, Temperature: units.Some(units.Celsius(7.2))},
		},
	}
}

func TestCheckValidate(t *testing.T) {
	today := day("2026-01-14")
	cases := []struct {
		name  string
		check Check
		want  []string // field:key, "?" after a soft one
	}{
		{"a plain check", Check{On: today, Slot: Morning, Temperature: units.Some(units.Celsius(7.4)),
			Chiller: Running}, nil},
		{"nothing observed", Check{On: today, Slot: Morning}, []string{"temperature:check.empty"}},
		{"tomorrow", Check{On: day("2026-01-15"), Slot: Morning, Water: WaterClear}, []string{"on:date.future"}},
		{"before delivery", Check{On: day("2026-01-09"), Slot: Morning, Water: WaterClear},
			[]string{"on:date.before_delivery"}},
		{"no date", Check{Slot: Morning, Water: WaterClear}, []string{"on:date.empty"}},
		{"a tank at 45 is Fahrenheit", Check{On: today, Slot: Morning, Temperature: units.Some(units.Celsius(45)),
			TemperatureUnit: units.Cel}, []string{"temperature:temperature.maybe_fahrenheit"}},
		{"75 is 7.5 without its point", Check{On: today, Slot: Morning, Temperature: units.Some(units.Celsius(75)),
			TemperatureUnit: units.Cel}, []string{"temperature:temperature.maybe_point"}},
		{"455 F is 45.5 without its point",
			Check{On: today, Slot: Morning, Temperature: units.Some(units.Fahrenheit(455).Celsius()),
				TemperatureUnit: units.DegF}, []string{"temperature:temperature.maybe_point"}},
		{"7 F is Celsius", Check{On: today, Slot: Morning, Temperature: units.Some(units.Fahrenheit(7).Celsius()),
			TemperatureUnit: units.DegF}, []string{"temperature:temperature.maybe_celsius"}},
		{"boiling", Check{On: today, Slot: Morning, Temperature: units.Some(units.Celsius(200)),
			TemperatureUnit: units.Cel}, []string{"temperature:temperature.impossible"}},
		{"a jump asks", Check{On: today, Slot: Morning, Temperature: units.Some(units.Celsius(11))},
			[]string{"temperature:temperature.warmer?"}},
		{"a fall asks", Check{On: today, Slot: Morning, Temperature: units.Some(units.Celsius(3))},
			[]string{"temperature:temperature.colder?"}},
		{"a confirmed jump", Check{On: today, Slot: Morning, Temperature: units.Some(units.Celsius(11)),
			Confirmed: []string{"temperature"}}, nil},
		{"a stage backwards asks", Check{On: today, Slot: Morning, Stage: GreenEgg},
			[]string{"stage:stage.backwards?"}},
		{"more dead than delivered", Check{On: today, Slot: Morning, DeadEggs: units.Some(201)},
			[]string{"dead_eggs:dead.more_than_delivered"}},
		{"more dead than left asks", Check{On: today, Slot: Morning, DeadEggs: units.Some(199)},
			[]string{"dead_eggs:dead.more_than_alive?"}},
		{"many dead ask", Check{On: today, Slot: Morning, DeadAlevins: units.Some(20)},
			[]string{"dead_alevins:dead.many?"}},
		{"negative dead", Check{On: today, Slot: Morning, DeadFry: units.Some(-1)},
			[]string{"dead_fry:number.negative"}},
		{"pH of 15", Check{On: today, Slot: Morning, PH: units.Some(15.0)}, []string{"ph:number.between"}},
		{"pH of 3 asks", Check{On: today, Slot: Morning, PH: units.Some(3.0)}, []string{"ph:ph.unusual?"}},
		{"words of no choice", Check{On: today, Slot: "noon", Water: "green", Chiller: "humming"},
			[]string{"slot:check.slot", "chiller:choice.unknown", "water:choice.unknown"}},
		{"a time that is none", Check{On: today, Slot: Morning, Time: "25:10", Water: WaterClear},
			[]string{"time:check.time"}},
	}
	for _, c := range cases {
		var got []string
		for _, p := range c.check.Validate(CheckContext{Season: testSeason(), Today: today}) {
			s := p.Field + ":" + p.Key
			if p.Soft {
				s += "?"
			}
			got = append(got, s)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

// A correction is judged without the row that it replaces.
func TestCorrectionReplacesItsOwnCount(t *testing.T) {
	s := testSeason()
	c := s.Checks[0]
	c.DeadEggs = units.Some(200)
	if ps := c.Validate(CheckContext{Season: s, Today: day("2026-01-14")}); len(ps) != 1 || ps[0].Key != "dead.many" {
		t.Errorf("got %+v", ps)
	}
}

func TestLate(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	at := func(s string) time.Time {
		v, err := time.ParseInLocation("2006-01-02 15:04", s, loc)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	cases := []struct {
		clock, received string
		late            bool
	}{
		{"", "2026-01-11 08:10", false},
		{"", "2026-01-12 23:59", false},
		{"", "2026-01-13 00:01", true},
		{"08:10", "2026-01-12 08:09", false},
		{"08:10", "2026-01-12 08:11", true},
	}
	for _, c := range cases {
		chk := Check{On: day("2026-01-11"), Time: c.clock, Entry: Entry{ReceivedAt: at(c.received)}}
		if got := chk.Late(loc); got != c.late {
			t.Errorf("made %q, received %s: late %v", c.clock, c.received, got)
		}
	}
}

// The account always adds up, whatever was logged, and the gap of a full count
// is shown.
func TestTotalsHold(t *testing.T) {
	s := testSeason()
	s.Events = []Event{
		{Kind: MovedIn, On: day("2026-01-20"), Count: units.Some(10)},
		{Kind: Counted, On: day("2026-02-01"), Count: units.Some(200)},
		{Kind: SampleTaken, On: day("2026-02-02"), Count: units.Some(5)},
	}
	got := s.TotalsOn(day("2026-02-03"))
	want := Totals{Delivered: 200, MovedIn: 10, Dead: 2, Sampled: 5, Alive: 195, Unexplained: 8,
		CountedOn: day("2026-02-01")}
	if got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	s.ClosedOn = day("2026-03-01")
	if got := s.TotalsOn(s.ClosedOn); got.Alive != 0 || got.Unexplained != 203 || !got.Balanced() {
		t.Errorf("closing leaves the rest unexplained: %+v", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := testSeason()
		kinds := []EventKind{MovedIn, MovedOut, SampleTaken, Released, Counted}
		for range rapid.IntRange(0, 8).Draw(t, "events") {
			s.Events = append(s.Events, Event{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"),
				On:    day("2026-01-10").AddDays(rapid.IntRange(0, 60).Draw(t, "on")),
				Count: units.Some(rapid.IntRange(0, 300).Draw(t, "n"))})
		}
		slices.SortStableFunc(s.Events, func(a, b Event) int { return a.On.Compare(b.On) })
		got := s.TotalsOn(day("2026-01-10").AddDays(rapid.IntRange(0, 70).Draw(t, "day")))
		if !got.Balanced() || got.Alive < 0 {
			t.Fatalf("%+v does not add up", got)
		}
	})
}

func TestRowsValidate(t *testing.T) {
	today := day("2026-01-14")
	lot := Lot{Code: "A", Species: AtlanticSalmon, FertilisedOn: day("2025-11-01")}
	fields := func(ps []Problem) (out []string) {
		for _, p := range ps {
			out = append(out, p.Field)
		}
		return out
	}
	s := testSeason()
	for _, c := range []struct {
		name string
		got  []Problem
		want []string
	}{
		{"good lot", lot.Validate(today), nil},
		{"lot of no species, from the future",
			Lot{Code: "x", Species: "carp", FertilisedOn: day("2026-02-01")}.Validate(today),
			[]string{"species", "fertilised_on"}},
		{"good delivery", Delivery{On: today, Count: 200, Method: ByHand}.Validate(lot, today), nil},
		{"hatch before spawning", Delivery{On: day("2025-10-01"), Count: 0, Method: "guess"}.Validate(lot, today),
			[]string{"on", "count", "method"}},
		{"delivery of absurd numbers", Delivery{On: today, Count: 5, Method: ByHand,
			ThermalUnits: units.Some(units.ThermalUnits(9999)), MeanTemperature: units.Some(units.Celsius(45)),
			Index: units.Some(7.0)}.Validate(lot, today), []string{"thermal_units", "mean_temperature",
			"development_index"}},
		{"site in no zone", Site{Name: "S", Zone: "Mars/Olympus", Language: "en",
			TemperatureUnit: units.Cel}.Validate(), []string{"zone"}},
		{"tank of no size", Tank{Name: "T", Wall: BareGlass}.Validate(), []string{"volume_l"}},
		{"water change without litres", Event{Kind: WaterChange, On: today}.Validate(s, today), []string{"litres"}},
		{"release of none", Event{Kind: Released, On: today}.Validate(s, today), []string{"count"}},
		{"event before delivery", Event{Kind: FilterRinse, On: day("2026-01-01")}.Validate(s, today), []string{"on"}},
		{"span backwards", ClosedSpan{From: today, To: today.AddDays(-1)}.Validate(), []string{"to"}},
		{"closing before the last check",
			(&Season{Deliveries: s.Deliveries, Checks: s.Checks, ClosedOn: day("2026-01-11")}).ValidateClosing(today),
			[]string{"closed_on"}},
	} {
		if got := fields(c.got); !slices.Equal(got, c.want) {
			t.Errorf("%s: problems at %v, want %v", c.name, got, c.want)
		}
	}
}

// Eggs are never asked whether they are smolts; an answer given is never hidden.
func TestStagesAbout(t *testing.T) {
	for _, c := range []struct {
		believed, answered, last Stage
	}{{"", "", Smolt}, {GreenEgg, "", Fry}, {EyedEgg, "", Fry}, {Alevin, "", Fry}, {Fry, "", Parr}, {Parr, "", Smolt},
		{Smolt, "", Smolt}, {EyedEgg, Smolt, Smolt}} {
		got := StagesAbout(c.believed, c.answered)
		if got[0] != GreenEgg || got[len(got)-1] != c.last || len(got) != c.last.Order() {
			t.Errorf("%q, answered %q: %v", c.believed, c.answered, got)
		}
	}
}
