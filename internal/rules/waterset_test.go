package rules_test

import (
	"math"
	"testing"

	"reddside/internal/rules"
	"reddside/internal/water"
)

// Every set of water limits can be chosen: it leaves a profile that fits, and
// each of its values is the publisher's (water_limits.csv), ammonia as NH3 and
// nitrate as N.
func TestEveryWaterSetFits(t *testing.T) {
	sets, err := water.LimitSets()
	if err != nil {
		t.Fatal(err)
	}
	stock := rules.StockProfile()
	usable := 0
	for _, set := range sets {
		changes := rules.WaterSetChanges(set, stock)
		if len(changes) > 0 {
			usable++
		}
		var list []rules.Override
		for _, c := range changes {
			if c.Source != "" && rules.WaterSetName(c.Source) != set.Name {
				t.Errorf("%s: source %q", set.Name, c.Source)
			}
			list = append(list, rules.Override{Limit: c.Limit, Stage: c.Stage, Value: c.Value.V, Source: c.Source,
				Reason: "test"})
		}
		if _, err := rules.NewProfile(1, list); err != nil {
			t.Errorf("%s: %v", set.Name, err)
		}
	}
	if usable < 7 {
		t.Errorf("only %d sets can be chosen", usable)
	}
	value := func(name string, l rules.Limit) float64 {
		for _, set := range sets {
			if set.Name == name {
				for _, c := range rules.WaterSetChanges(set, stock) {
					if c.Limit == l {
						return c.Value.V
					}
				}
			}
		}
		return math.NaN()
	}
	for _, x := range []struct {
		set  string
		l    rules.Limit
		want float64
	}{
		{"CCME", rules.AmmoniaWatch, 0.019}, {"CCME", rules.NitriteWatch, 0.06},
		{"CCME", rules.NitrateDue, 13 / 4.4267},
		{"EIFAC", rules.AmmoniaAct, 0.025}, {"Piper et al. 1982", rules.NitriteAct, 0.2},
		{"US EPA", rules.OxygenAct, 5},
	} {
		if got := value(x.set, x.l); math.Abs(got-x.want) > 0.0005*x.want {
			t.Errorf("%s %s: %v, want %v", x.set, x.l, got, x.want)
		}
	}
}
