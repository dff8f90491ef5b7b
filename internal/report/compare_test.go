package report

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
)

// programme is an invented programme of n tanks of one lot: 50 to 300 eggs, tanks
// that differ (sd 0.4 on the logit scale) about 93 % survival to the hatch, and
// bad ones at 65 %.
func programme(rng *rand.Rand, n, bad int) []*logbook.Season {
	var out []*logbook.Season
	for i := range n {
		eggs := 50 + rng.IntN(251)
		p := 1 / (1 + math.Exp(-math.Log(0.93/0.07)-0.4*rng.NormFloat64()))
		if i < bad {
			p = 0.65
		}
		dead := 0
		for range eggs {
			if rng.Float64() > p {
				dead++
			}
		}
		s := tank(eggs, map[int]int{10: dead, 30: 0, 70: 0})
		s.ID, s.Label = logbook.ID(fmt.Sprint("s", i)), "2025-26"
		s.Site.Name, s.Tank.Name = fmt.Sprintf("School %03d", (i*37)%n), "Tank"
		s.Lot.Species, s.Lot.Supplier = logbook.AtlanticSalmon, "Invented hatchery"
		s.Checks[1].Stage = logbook.Alevin
		s.Checks[2].Stage = logbook.Fry
		out = append(out, s)
	}
	return out
}

// A hundred tanks, four of them bad: the bad ones are named and no others, the
// table is in order of the alphabet, and the gates to come are left out. The
// method is checked against R by the row funnel_betabinomial in package stats.
func TestCompareHundredTanks(t *testing.T) {
	all := programme(rand.New(rand.NewPCG(1, 2)), 100, 4)
	got := compared(all)
	if len(got) != 1 || got[0].Tanks != 100 || len(got[0].Gates) != 2 {
		t.Fatalf("%d groups: %+v", len(got), got)
	}
	for _, g := range got[0].Gates {
		if !g.Named || g.Low != 4 || len(g.Tanks) != 100 {
			t.Fatalf("%s: named %v, low %d of %d", g.Gate, g.Named, g.Low, len(g.Tanks))
		}
		for i, k := range g.Tanks {
			if i > 0 && k.Site < g.Tanks[i-1].Site {
				t.Errorf("%s stands after %s", k.Site, g.Tanks[i-1].Site)
			}
			var n int
			if _, err := fmt.Sscanf(string(k.SeasonID), "s%d", &n); err != nil || k.Low != (n < 4) {
				t.Errorf("%s: low %v, %d of %d", k.SeasonID, k.Low, k.Alive, k.Start)
			}
			// Drawn towards the middle, never beyond it.
			if c := g.Funnel.A / (g.Funnel.A + g.Funnel.B); (k.Share-k.Shrunk)*(c-k.Shrunk) > 1e-12 {
				t.Errorf("%v shrunk to %v, middle %v", k.Share, k.Shrunk, c)
			}
		}
		first, last := g.Bands[0], g.Bands[len(g.Bands)-1]
		if !(first.Low998 < first.Low95 && first.Low95 < first.Centre && last.Low95 > first.Low95) {
			t.Errorf("bands %+v %+v", first, last)
		}
	}
}

func TestCompareNamesNobodyAmongFew(t *testing.T) {
	all := programme(rand.New(rand.NewPCG(3, 4)), stats.FunnelMinTanks-1, 2)
	g := compared(all)[0].Gates[0]
	if g.Named || g.Low != 0 || len(g.Bands) == 0 {
		t.Errorf("19 tanks: %+v", g)
	}
	all = programme(rand.New(rand.NewPCG(3, 4)), 30, 2)
	all[9].Deliveries[0].Count, all[9].Checks[0].DeadEggs = stats.FunnelMinAnimals-1, units.Some(0)
	if g := compared(all)[0].Gates[0]; g.Named || g.Low != 0 {
		t.Errorf("a tank of 29: %+v", g)
	}
}

func TestCompareOnlyWhatIsAlike(t *testing.T) {
	all := programme(rand.New(rand.NewPCG(5, 6)), 8, 0)
	all[0].Lot.Species = logbook.BrookTrout
	all[1].Lot.Supplier = "Another hatchery"
	all[2].Label = "2024-25"
	all[3].Deliveries[0].Stage = logbook.GreenEgg
	got := compared(all)
	if len(got) != 5 || got[4].Label != "2024-25" {
		t.Fatalf("%+v", got)
	}
	for _, c := range got {
		if (c.Tanks == 4) != (len(c.Gates) > 0) {
			t.Errorf("%d tanks, %d gates", c.Tanks, len(c.Gates))
		}
	}
}

func TestGateDays(t *testing.T) {
	s := programme(rand.New(rand.NewPCG(7, 8)), 1, 0)[0]
	left := s.TotalsOn(onDay(75)).Alive
	for g, want := range map[Gate]civil.Date{GateHatch: onDay(30), GateSwimUp: onDay(70), GateMidFry: {},
		GateRelease: {}} {
		if got := gateDay(s, g, onDay(75)); got != want {
			t.Errorf("%s: %s, want %s", g, got, want)
		}
	}
	if got := gateDay(s, GateMidFry, onDay(100)); got != onDay(100) {
		t.Errorf("mid-fry %s", got)
	}
	s.Events = []logbook.Event{{Kind: logbook.Released, On: onDay(90), Count: units.Some(left)}}
	if got := gateDay(s, GateRelease, onDay(120)); got != onDay(90) {
		t.Errorf("release %s", got)
	}
	if got := gateDay(s, GateMidFry, onDay(120)); !got.IsZero() {
		t.Errorf("released before mid-fry, but %s", got)
	}
}

// compared puts seasons side by side as of day 75.
func compared(all []*logbook.Season) []Compared {
	var c Comparison
	for _, s := range all {
		c.Add(s, onDay(75))
	}
	return c.Groups()
}
