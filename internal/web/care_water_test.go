package web

import (
	"context"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// The newest tests of season one: 2.0 mg/L as N at pH 7.6 and 10 C. The largest
// total that keeps CCME's 0.019 mg/L NH3 there is 2.13 (science notes, W2).
func careTests(ts *testServer, edit func(*logbook.Check)) {
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](10), logbook.EyedEgg
		c.PH, c.TAN = units.Some(7.6), units.Some[units.MgPerL](2)
		c.Oxygen = units.Some[units.MgPerL](9)
		if edit != nil {
			edit(c)
		}
	})
}

// careRow is the row of a test and a set in the table of judgements.
func careRow(t *testing.T, p page, test, set string) string {
	t.Helper()
	for _, row := range strings.Split(p.Body, "<tr>") {
		if strings.Contains(row, ">"+test+"</th>") && strings.Contains(row, ">"+set+"</td>") {
			return row
		}
	}
	t.Fatalf("no row %s, %s", test, set)
	return ""
}

func TestWaterTestsAndTraps(t *testing.T) {
	ts := newTestServer(t)
	careTests(ts, nil)
	b := ts.as(ts.class)
	p := b.get(seasonPath(ts.one, "water")).want(t, 200, "0.0178", "with the reading error of the kits", "80 %",
		"sea level", "CCME", "Only adults handle test reagents")
	// NH3 against N: 0.0178 as NH3 is inside 0.019; the same 2.2 as N gives 0.0196.
	if row := careRow(t, p, "Un-ionised ammonia, as NH3", "CCME"); !strings.Contains(row, ">inside</td>") ||
		!strings.Contains(row, "0.019 mg/L as NH3") {
		t.Error(row)
	}
	// 1 % over: still 0.0158 as N, which a mix-up would call inside.
	ts2 := newTestServer(t)
	careTests(ts2, func(c *logbook.Check) { c.TAN = units.Some[units.MgPerL](2.2) })
	if row := careRow(t, ts2.as(ts2.keeper).get(seasonPath(ts2.one, "water")), "Un-ionised ammonia, as NH3",
		"CCME"); !strings.Contains(row, "outside, watch") {
		t.Error(row)
	}
	// Basket against buried eggs: 9 mg/L is inside 6.5 for a basket, and would be
	// outside the 9.5 of eggs in gravel.
	if row := careRow(t, p, "Oxygen", "US EPA"); !strings.Contains(row, ">inside</td>") ||
		!strings.Contains(row, "exposed directly") {
		t.Error(row)
	}
	// Sea-level pressure: the same 9 mg/L is 90 % at 1000 m, not 80 %
	// (saturation at 10 C: 11.29 at the sea, 10.00 at 1000 m).
	site := ts.load(ts.one).Site
	site.Altitude = units.Some[units.Metres](1000)
	_, err := ts.DB.UpdateSite(context.Background(), ts.coordinator, site, testNow)
	ts.must(err)
	b.get(seasonPath(ts.one, "water")).want(t, 200, "90 %", "1000").lacks(t, "sea level")
	ts.as(ts.birchKeeper).get(seasonPath(ts.one, "water")).want(t, 404)
	ts.as(ts.keeper).get(seasonPath(ts.two, "water")).want(t, 200, "No water test is in the log",
		"Test ammonia, pH and temperature first")
	b.lang = "fr"
	b.get(seasonPath(ts.one, "water")).want(t, 200, "Dernières analyses", "10 févr. Il faut ici").lacks(t, "[care",
		"..")
}

// The page says in one sentence what to do before it shows why. Stock limits are
// those of CCME: 0.019 mg/L NH3, which is 2.13 mg/L as N at pH 7.6 and 10 C
// (science notes, W2), and 0.06 mg/L nitrite as N; total ammonia is watched at 1.
// From 2.4 to 1 three steps of 25 %, from 0.25 to 0.06 (76 % at once) five of them.
// Nitrate has its own time: 20 % of the tank from 25 to 20.
func TestWaterVerdict(t *testing.T) {
	verdict := func(edit func(*logbook.Check)) (page, string) {
		ts := newTestServer(t)
		careTests(ts, edit)
		p := ts.as(ts.keeper).get(seasonPath(ts.one, "water")).want(t, 200).lacks(t, "[care", "<no value>")
		return p, plainText(p.doc(t).Find(".care-answer .headline").First().Text())
	}
	for _, c := range []struct {
		name string
		edit func(*logbook.Check)
		want string
	}{
		{"ammonia", func(c *logbook.Check) { c.TAN = units.Some[units.MgPerL](2.4) }, "Change 50.6"},
		{"fine", func(c *logbook.Check) { c.TAN = units.Some[units.MgPerL](0.5) }, "The water is fine"},
		{"kit", func(c *logbook.Check) { c.TAN, c.PH = units.Some[units.MgPerL](1), units.Some(7.9) },
			"Test ammonia again"},
		{"nitrite", func(c *logbook.Check) {
			c.TAN, c.Nitrite = units.Some[units.MgPerL](0), units.Some[units.MgPerL](0.25)
		}, "Change 49.7 L of water now (25%), free of chlorine and within 2.0 °C of the tank"},
		{"nitrate has time", func(c *logbook.Check) {
			c.TAN, c.Nitrate = units.Some[units.MgPerL](0), units.Some[units.MgPerL](25)
		}, "Change 40"},
		{"air", func(c *logbook.Check) {
			c.TAN, c.Oxygen = units.Some[units.MgPerL](0), units.Some[units.MgPerL](4)
		}, "More air now"},
		{"chlorine", func(c *logbook.Check) {
			c.TAN, c.Chlorine = units.Some[units.MgPerL](0), units.Some[units.MgPerL](0.5)
		}, "Chlorine 0.5"},
		{"gas", func(c *logbook.Check) {
			c.TAN, c.Oxygen = units.Some[units.MgPerL](0), units.Some[units.MgPerL](14)
		}, "Oxygen 14"},
		{"no pH", func(c *logbook.Check) { c.PH = units.Optional[float64]{} }, "Test pH and temperature too"},
		{"pH", func(c *logbook.Check) {
			c.TAN, c.PH = units.Some[units.MgPerL](0), units.Some(5.2)
		}, "pH is outside its limits"},
	} {
		if _, got := verdict(c.edit); !strings.HasPrefix(got, c.want) {
			t.Errorf("%s: %q, want %q first", c.name, got, c.want)
		}
	}
	// A test of long ago says little of the water of today.
	ts := newTestServer(t)
	careTests(ts, func(c *logbook.Check) { c.TAN = units.Some[units.MgPerL](0.5) })
	for day, want := range map[int]string{14: "The water is fine",
		15: "Test the water: the newest test is 15 days old"} {
		ts.at(testNow.AddDate(0, 0, day))
		if got := plainText(ts.as(ts.keeper).get(seasonPath(ts.one,
			"water")).doc(t).Find(".care-answer .headline").First().Text()); !strings.HasPrefix(got, want) {
			t.Errorf("day %d: %q, want %q first", day, got, want)
		}
	}
	p, _ := verdict(func(c *logbook.Check) { c.TAN = units.Some[units.MgPerL](2.4) })
	p.want(t, 200, "Outside the limit. 0.0214", "Fine. 7.6", "6.5 to 8.5 is wanted here", "from memory").lacks(t,
		"https://", "http://www")
}

// A tank of 200 L: 60 % from 1.0 to 0.4 with clean water (reference row
// 3.fraction_needed), 120 L; in two steps 36.8 % each. 120 L at 1 mg/L chlorine
// take 0.84 g (7.0 mg per mg).
func TestWaterChangeAndWeekend(t *testing.T) {
	ts := newTestServer(t)
	careTests(ts, func(c *logbook.Check) { c.TAN = units.Some[units.MgPerL](1) })
	b := ts.as(ts.keeper)
	ask := func(pairs ...string) page {
		v := fields("asked", "change", "target", "0.4", "fresh", "0", "new_temperature", "14", "new_ph", "8")
		for i := 0; i+1 < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		return b.get(seasonPath(ts.one, "water?"+v.Encode()))
	}
	// The new water is 4 C warmer and 26 % of the tank at a step: 11.1 C, and 60 % in all.
	ask().want(t, 200, "Change 52.6", "3 times", "free of chlorine and within 2.0 °C", "Test between", "0.737", "0.543",
		"11.1", "much warmer or colder", "Test the new water for chlorine first")
	// A mg/L of chloramine brings 0.198 mg/L of nitrogen: four steps of 58.3 L, each
	// with 58.3 x 7.0 mg of crystals, 41 mL of 10 g/L.
	ask("chlorine", "1", "chloramine", "yes").want(t, 200, "Change 58.3", "4 times", "0.408", "41 mL",
		"With chloramine, ammonia stays behind", "Only adults handle this chemical", "Test the water again")
	ask("target", "1.5").want(t, 200, "No change is needed")
	// 2 mg/L of chloramine leave 0.395 mg/L as N: no number of changes comes to 0.3.
	ask("target", "0.3", "chlorine", "2", "chloramine", "yes").want(t, 200, "cannot bring the tank to 0.3", "0.395",
		"use other water").lacks(t, "Expected after")
	for _, c := range [][2]string{{"target", "-1"}, {"target", ""}, {"new_ph", "20"}, {"new_temperature", "80"},
		{"chlorine", "50"}, {"new_ph", "x"}} {
		ask(c[0], c[1]).want(t, 422, `id="summary"`).lacks(t, "Change 52", "times, free")
	}
	weekend := func(days, feed string) page {
		return b.get(seasonPath(ts.one, "water?"+fields("asked", "weekend", "days", days, "feed", feed).Encode()))
	}
	// 3 g a day of half protein make 0.138 g N, 0.69 mg/L a day in 200 L: from 1.0
	// to 2.13 in 1.6 days.
	weekend("4", "3").want(t, 200, "after 1.6 days", "3.76", "as NH3")
	weekend("4", "0").want(t, 200, "stays below")
	for _, c := range [][2]string{{"", "3"}, {"100", "3"}, {"-1", "3"}, {"4", "-3"}, {"4", "x"}} {
		weekend(c[0], c[1]).want(t, 422, `id="summary"`)
	}
}

// 60 of 200 dead overnight in water with too much nitrite: the sample is taken and
// the coordinator called before any page tells anybody to change water.
func TestNoWaterIsChangedBeforeTheSample(t *testing.T) {
	ts := newTestServer(t)
	careTests(ts, func(c *logbook.Check) {
		c.TAN, c.Nitrite, c.DeadEggs = units.Some[units.MgPerL](0), units.Some[units.MgPerL](0.3), units.Some(60)
	})
	b := ts.as(ts.keeper)
	for lang, words := range map[string][3]string{
		"en": {"Call your coordinator now", "Fill a clean bottle with tank water", "free of chlorine and within"},
		"fr": {"Appelez votre coordination maintenant", "Remplissez d’eau du bac une bouteille propre",
			"sans chlore et à"},
	} {
		b.lang = lang
		for _, page := range []string{"water", ""} {
			b.get(strings.TrimSuffix(seasonPath(ts.one, page), "/")).want(t, 200, words[0], words[1]).lacks(t, words[2],
				"[rules", "<no value>")
		}
	}
}

// 0.5 mg/L of chlorine in 200 L take 200 x 0.5 x 7.0 / 1000 = 0.7 g of thiosulfate
// (a reagent maker's figure), 70 mL of a solution of 10 g in a litre.
func TestChlorineInTheTankHasItsDose(t *testing.T) {
	ts := newTestServer(t)
	careTests(ts, func(c *logbook.Check) { c.Chlorine = units.Some[units.MgPerL](0.5) })
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, "water")).want(t, 200, "Dechlorinate the tank now: 0.7", "70 mL of a solution")
	b.lang = "fr"
	b.get(seasonPath(ts.one, "water")).want(t, 200, "Déchlorez le bac maintenant", "70 mL d’une solution").lacks(t,
		"<no value>")
}
