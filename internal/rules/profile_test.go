package rules_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// cited compares stock thresholds with rows of the reference tables, which say
// where each number was had.
var cited = []struct {
	limit   rules.Limit
	species logbook.Species
	stage   logbook.Stage
	known   rules.Known
	file    string
	source  string // words of the row's source column
	column  string
}{
	{rules.TempWatchLow, logbook.AtlanticSalmon, logbook.GreenEgg, rules.Read, "biology_limits.csv",
		"Peterson et al 1977 abstract: >20 % loss below 4", "low"},
	{rules.TempActHigh, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "biology_limits.csv",
		"Gunnes 1979 abstract: high loss", "high"},
	{rules.TempWatchHigh, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "biology_limits.csv",
		"Gunnes 1979 abstract: 10 C best", "high"},
	{rules.TempWatchHigh, logbook.AtlanticSalmon, logbook.Alevin, rules.Read, "biology_limits.csv", "Brannas 1988",
		"high"},
	{rules.TempWatchHigh, logbook.BrownTrout, logbook.EyedEgg, rules.Read, "biology_limits.csv",
		"best survival; Ojanguren & Brana 2003", "high"},
	{rules.TempActHigh, logbook.BrownTrout, logbook.EyedEgg, rules.FromMemory, "biology_limits.csv",
		"Brown trout; tolerance", "high"},
	{rules.TempWatchHigh, logbook.BrookTrout, logbook.EyedEgg, rules.Read, "biology_limits.csv", "brook trout strains",
		"high"},
	{rules.TempActHigh, logbook.BrookTrout, logbook.EyedEgg, rules.FromMemory, "biology_limits.csv",
		"Hokanson et al 1973", "high"},
	{rules.TempWatchHigh, logbook.LakeTrout, logbook.EyedEgg, rules.Read, "biology_limits.csv", "lake trout eggs",
		"high"},
	{rules.TempWatchHigh, logbook.RainbowTrout, logbook.EyedEgg, rules.Read, "biology_limits.csv",
		"best survival; Kwain 1975", "high"},
	{rules.TempActLow, logbook.RainbowTrout, logbook.EyedEgg, rules.Read, "biology_limits.csv",
		"near thresholds; Kwain 1975", "low"},
	{rules.TempWatchLow, logbook.Chinook, logbook.EyedEgg, rules.Read, "biology_limits.csv", "Dworshak", "low"},
	{rules.TempWatchHigh, logbook.Chinook, logbook.EyedEgg, rules.Read, "biology_limits.csv", "Dworshak", "high"},
	{rules.TempActLow, logbook.Coho, logbook.EyedEgg, rules.Read, "biology_limits.csv", "Tang et al 1987", "low"},
	{rules.TempActHigh, logbook.Coho, logbook.EyedEgg, rules.Read, "biology_limits.csv", "Tang et al 1987", "high"},
	{rules.TempWatchLow, logbook.Coho, logbook.EyedEgg, rules.Read, "biology_limits.csv", "BC coho stocks", "low"},
	{rules.TempActLow, logbook.Pink, logbook.EyedEgg, rules.Read, "biology_limits.csv", "Murray & McPhail 1988",
		"high"},
	{rules.TempActLow, logbook.Chum, logbook.EyedEgg, rules.Read, "biology_limits.csv", "Murray & McPhail 1988",
		"high"},
	{rules.TempWatchLow, logbook.Sockeye, logbook.EyedEgg, rules.Read, "biology_limits.csv", "Reiser & Bjornn 1979",
		"low"},
	{rules.TempActHigh, logbook.Sockeye, logbook.Alevin, rules.FromMemory, "water_limits.csv",
		"spawning, incubation, fry emergence", "high_alarm"},
	{rules.TempWatchHigh, logbook.BrookTrout, logbook.Fry, rules.FromMemory, "water_limits.csv", "core rearing 16",
		"high_warn"},
	{rules.TempActHigh, logbook.AtlanticSalmon, logbook.Parr, rules.FromMemory, "water_limits.csv", "core rearing 16",
		"high_alarm"},
	{rules.PHWatchLow, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "water_limits.csv",
		"CCME and US EPA freshwater range", "low_warn"},
	{rules.PHActLow, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "water_limits.csv", "10-day LC10 from 5.01",
		"low_alarm"},
	{rules.PHActHigh, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "water_limits.csv", "EIFAC 1969",
		"high_alarm"},
	{rules.AmmoniaWatch, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "water_limits.csv", "CCME 2001 (0.019",
		"high_warn"},
	{rules.AmmoniaAct, logbook.AtlanticSalmon, logbook.EyedEgg, rules.FromMemory, "water_limits.csv", "EIFAC 1970",
		"high_alarm"},
	{rules.NitriteWatch, logbook.AtlanticSalmon, logbook.EyedEgg, rules.FromMemory, "water_limits.csv",
		"CCME 1987 nitrite", "high_warn"},
	{rules.NitriteAct, logbook.AtlanticSalmon, logbook.EyedEgg, rules.FromMemory, "water_limits.csv",
		"0.1 in soft, 0.2 in hard water", "high_alarm"},
	{rules.OxygenWatch, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "water_limits.csv",
		"Hendrix Genetics guide 3 (above 7", "low_warn"},
	{rules.OxygenWatch, logbook.AtlanticSalmon, logbook.Fry, rules.FromMemory, "water_limits.csv",
		"coldwater other life stages", "low_warn"},
	{rules.OxygenShareLow, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "water_limits.csv", "guide 3, share",
		"low_warn"},
	{rules.GasAct, logbook.AtlanticSalmon, logbook.EyedEgg, rules.Read, "water_limits.csv", "levels over 110 %",
		"high_alarm"},
	{rules.OxygenAct, logbook.AtlanticSalmon, logbook.EyedEgg, rules.FromMemory, "water_limits.csv",
		"exposed directly to the water column", "low_alarm"},
	{rules.OxygenAct, logbook.AtlanticSalmon, logbook.Fry, rules.FromMemory, "water_limits.csv",
		"coldwater other life stages", "low_alarm"},
}

func TestStockThresholdsAreThoseOfTheirSources(t *testing.T) {
	p := rules.StockProfile()
	for _, c := range cited {
		want := reference(t, c.file, c.source, c.column)
		got, ok := p.Value(c.limit, c.species, c.stage)
		if !ok || got != want {
			t.Errorf("%s of %s %s = %v, source %q has %v", c.limit, c.species, c.stage, got, c.source, want)
		}
		found := false
		for _, r := range p.Rows(c.limit) {
			fits := (r.Species == "" || r.Species == c.species) && (r.Stage == "" || r.Stage == c.stage)
			found = found || fits && r.Value == got && r.Known == c.known && r.Source != ""
		}
		if !found {
			t.Errorf("%s of %s %s: no row %v known by %s", c.limit, c.species, c.stage, got, c.known)
		}
	}
}

// Brook trout act above 11.7 C is above every watch limit; the order of limits
// must hold for every species and stage, and every stage must have all four.
func TestEveryStageHasItsRange(t *testing.T) {
	p := rules.StockProfile()
	for _, species := range append(logbook.AllSpecies(), "") {
		for _, stage := range logbook.Stages() {
			last := -100.0
			for _, l := range []rules.Limit{rules.TempActLow, rules.TempWatchLow, rules.TempWatchHigh,
				rules.TempActHigh} {
				v, ok := p.Value(l, species, stage)
				if !ok || v <= last {
					t.Errorf("%s of %s %s = %v after %v", l, species, stage, v, last)
				}
				last = v
			}
		}
	}
}

// reference returns the number of the only row that has all the words.
func reference(t *testing.T, file, words, column string) float64 {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for _, row := range rows[1:] {
		line := strings.Join(row, "|")
		all := true
		for _, w := range strings.Split(words, "; ") {
			all = all && strings.Contains(line, w)
		}
		for i, name := range rows[0] {
			if all && name == column && row[i] != "" {
				found = append(found, row[i])
			}
		}
	}
	if len(found) != 1 {
		t.Fatalf("%s: %d rows with %q and a value in %s", file, len(found), words, column)
	}
	v, err := strconv.ParseFloat(found[0], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestOverrideShowsStockAndLocal(t *testing.T) {
	o := rules.Override{Limit: rules.TempWatchHigh, Species: logbook.AtlanticSalmon, Stage: logbook.EyedEgg, Value: 8,
		Reason: "our hatchery asks for 8", On: monday}
	p, err := rules.NewProfile(3, []rules.Override{o})
	if err != nil {
		t.Fatal(err)
	}
	if v, _ := p.Value(rules.TempWatchHigh, logbook.AtlanticSalmon, logbook.EyedEgg); v != 8 {
		t.Errorf("in use %v", v)
	}
	if v, _ := p.Value(rules.TempWatchHigh, logbook.AtlanticSalmon, logbook.Alevin); v != 10 {
		t.Errorf("another stage changed to %v", v)
	}
	for _, r := range p.Rows(rules.TempWatchHigh) {
		if r.Species == o.Species && r.Stage == o.Stage && (r.Value != 10 || r.Local == nil ||
			r.Local.Reason != o.Reason) {
			t.Errorf("row %+v", r)
		}
	}
	a := free(newTank()).temps(0, 9, 9).assessWith(1, nil, p)
	f := want(t, a, "temperature_high", rules.Watch, day(0))
	if !f.LocalChoice || f.Source != "" {
		t.Errorf("a local limit cites %q", f.Source)
	}
	wantNot(t, free(newTank()).temps(0, 9, 9).assess(1), "temperature_high")
}

func TestOverridesAreRefused(t *testing.T) {
	for name, o := range map[string]rules.Override{
		"no reason":     {Limit: rules.DepartureLeast, Value: 2},
		"out of bounds": {Limit: rules.TempWatchHigh, Value: 46, Reason: "typed in Fahrenheit"},
		"crossing": {Limit: rules.TempWatchHigh, Species: logbook.AtlanticSalmon, Stage: logbook.EyedEgg,
			Value: 13, Reason: "warm room"},
		"no such limit":  {Limit: 250, Value: 1, Reason: "x"},
		"no such stage":  {Limit: rules.DepartureLeast, Stage: "egg", Value: 2, Reason: "x"},
		"act above once": {Limit: rules.DeadActChance, Value: 0.15, Reason: "x"},
	} {
		if _, err := rules.NewProfile(1, []rules.Override{o}); logbook.KindOf(err) != logbook.Invalid {
			t.Errorf("%s: %v", name, err)
		} else {
			checkMessage(t, rules.Message{Key: err.(*logbook.Error).Key, Args: err.(*logbook.Error).Args})
		}
	}
}

// The promise of a false-alarm rate needs the programme's own rates.
func TestOwnDeathRates(t *testing.T) {
	if _, own := rules.StockProfile().DeadConfig(); own {
		t.Error("the stock rates are an assumption")
	}
	var all []rules.Override
	for l := rules.DeadRateArrival; l <= rules.DeadRateFry; l++ {
		all = append(all, rules.Override{Limit: l, Value: 0.001, Reason: "from closed seasons"})
	}
	p, err := rules.NewProfile(1, all)
	if err != nil {
		t.Fatal(err)
	}
	if cfg, own := p.DeadConfig(); !own || cfg.Rates[0] != 0.001 {
		t.Errorf("own %v, rates %v", own, cfg.Rates)
	}
	if p, err = rules.NewProfile(1, all[1:]); err != nil {
		t.Fatal(err)
	}
	if _, own := p.DeadConfig(); own {
		t.Error("five rates of six are not the programme's own")
	}
}

func TestLookupAllocatesNothing(t *testing.T) {
	p := rules.StockProfile()
	n := testing.AllocsPerRun(100, func() { p.Value(rules.TempWatchHigh, logbook.Coho, logbook.Alevin) })
	if n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// A limit that the rules look up without species and stage takes no scope, and
// every stock row with a scope belongs to a limit that has one.
func TestScopeOfLimits(t *testing.T) {
	for _, l := range rules.Limits() {
		for _, row := range rules.StockProfile().Rows(l) {
			if (row.Species != "" || row.Stage != "") && !l.Scoped() {
				t.Errorf("%s has a stock value for %s %s, but no scope", l, row.Species, row.Stage)
			}
		}
	}
	_, err := rules.NewProfile(1, []rules.Override{{Limit: rules.DeadMin, Species: logbook.AtlanticSalmon, Value: 4,
		Reason: "test"}})
	if logbook.KindOf(err) != logbook.Invalid {
		t.Errorf("a scope that nothing reads was taken: %v", err)
	}
}
