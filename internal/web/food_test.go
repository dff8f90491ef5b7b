package web

import (
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// fryTank makes season one a tank of 200 fry of 0.5 g at 7.2 C, weighed today.
// At 7.2 C the feed table has 3.3 % for 0.18 to 1.49 g, whose middle is 0.518 g.
func fryTank(ts *testServer, edit func(*logbook.Check)) {
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](7.2), logbook.Fry
		if edit != nil {
			edit(c)
		}
	})
	_, err := ts.DB.CreateSample(ts.t.Context(), ts.keeper, logbook.Sample{SeasonID: ts.one.ID,
		On: civil.MustParse(testDay), Count: 20, Total: 10.35,
		Lengths: []units.Millimetres{36, 37, 38}}, testNow, store.Write{})
	ts.must(err)
}

// 200 fish at 0.5175 g and 3.3 % is 3.4 g a day (percent of body weight method,
// Piper p. 239; percent of the feed table row).
func TestFoodPageSaysHowMuch(t *testing.T) {
	ts := newTestServer(t)
	fryTank(ts, func(c *logbook.Check) { c.Fed = units.Some[units.Grams](1.2) })
	p := ts.as(ts.class).get(seasonPath(ts.one, "food")).want(t, 200, "Today: 3.4\u00a0g in 5 small meals",
		"200 fish × 0.518", "3.3 % = 3.4", "Given so far today: 1.2",
		"Left: 2.2", "rainbow trout", "<svg", "Wash hands").lacks(t, "[food", "[sample", "<no value>", "/samples/")
	if strings.Contains(p.Body, "samples/new") {
		t.Error("a class is led to the form of staff")
	}
	staff := ts.as(ts.keeper)
	staff.get(seasonPath(ts.one, "food")).want(t, 200, "samples/new", "Sample of")
	staff.lang = "fr"
	staff.get(seasonPath(ts.one, "food")).want(t, 200, "Aujourd’hui\u00a0: 3,4\u00a0g en 5 petits repas").lacks(t,
		"[food", "[sample", "<no value>")
	staff.lang = "en"
	staff.get(seasonPath(ts.one, "facts")).want(t, 200, "/food\"")
}

func TestFoodPageBeforeSwimUpAndOnHold(t *testing.T) {
	ts := newTestServer(t)
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](7),
			logbook.EyedEgg
	})
	ts.as(ts.class).get(seasonPath(ts.one, "food")).want(t, 200, "No food yet: swim-up is expected from", "yolk").
		lacks(t, "small meals", "[food", "of body weight")

	held := newTestServer(t)
	// 4 mg/L as N at pH 8 and 7.2 C: 0.0147 x 4 x 1.2159 = 0.071 mg/L as NH3.
	fryTank(held, func(c *logbook.Check) { c.PH, c.TAN = units.Some(8.0), units.Some[units.MgPerL](4) })
	held.as(held.class).get(seasonPath(held.one, "food")).want(t, 200, "Hold the food today: ammonia is high", "CCME",
		"0.019").lacks(t, "small meals", "[food")
}

func TestSampleIsStoredOnceCorrectedAndTakenBack(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	form := b.get(seasonPath(ts.one, "samples/new")).want(t, 200, "Weigh some fish together").lacks(t, "[sample",
		"<no value>")
	f := fields("on", testDay, "count", "20", "total_g", "3,4", "lengths_mm", "28 29; 28,5", "lost", "2", "observer",
		"Group 2")
	f.Set("key", form.hidden().Get("key"))
	p := b.post(seasonPath(ts.one, "samples"), f).want(t, 303)
	b.get(p.Location).want(t, 200, "Mean weight", "0.17\u00a0g", "Condition factor", "28 29 28.5").lacks(t, "[sample",
		"<no value>")
	if again := b.post(seasonPath(ts.one, "samples"), f).want(t, 303); again.Location != p.Location {
		t.Error("stored twice")
	}
	s := ts.load(ts.one)
	if len(s.Samples) != 1 || s.Samples[0].Lengths[2] != 28.5 || s.TotalsOn(civil.MustParse(testDay)).Sampled != 2 {
		t.Fatalf("%+v, %+v", s.Samples, s.TotalsOn(civil.MustParse(testDay)))
	}
	edit := b.get(p.Location+"/correct").want(t, 200, `value="3.4"`)
	f = fields("on", testDay, "count", "20", "total_g", "3.6", "lengths_mm", "28 29 28.5", "lost", "2", "observer",
		"Group 2", "reason", "misread")
	f.Set("revision", edit.hidden().Get("revision"))
	b.post(p.Location+"/correct", f).want(t, 303)
	b.get(p.Location).want(t, 200, "3.6\u00a0g", "3.4\u00a0g") // the old value stays readable
	f.Set("total_g", "3.7")
	b.post(p.Location+"/correct", f).want(t, 409, "3.7") // from the revision before
	b.post(p.Location+"/void", fields("revision", "2")).want(t, 422)
	b.post(p.Location+"/void", fields("revision", "2", "reason", "wrong_tank")).want(t, 303)
	if s = ts.load(ts.one); len(s.Samples) != 0 || s.TotalsOn(civil.MustParse(testDay)).Sampled != 0 {
		t.Errorf("%+v", s.Samples)
	}
	b.get(p.Location+"/correct").want(t, 409)
}

func TestSampleProblems(t *testing.T) {
	ts := newTestServer(t)
	_, err := ts.DB.CreateSample(t.Context(), ts.keeper, logbook.Sample{SeasonID: ts.one.ID,
		On: civil.MustParse("2026-02-01"), Count: 20, Total: 3.4}, testNow, store.Write{})
	ts.must(err)
	b := ts.as(ts.keeper)
	for _, x := range []struct {
		change []string
		field  string
		text   string
	}{
		{[]string{"count", "0"}, "count", "whole number between 1"},
		{[]string{"count", "-3"}, "count", ""},
		{[]string{"count", ""}, "count", "whole number between 1"},
		{[]string{"total_g", "0"}, "total_g", "must weigh from"},
		{[]string{"total_g", "-4"}, "total_g", "must weigh from"},
		{[]string{"total_g", ""}, "total_g", "must weigh from"},
		{[]string{"total_g", "heavy"}, "total_g", "must be a number"},
		{[]string{"lengths_mm", "28 5000"}, "lengths_mm", "must be from 10"},
		{[]string{"lengths_mm", "28 long"}, "lengths_mm", "long"},
		{[]string{"weights_g", "0.1 0.2"}, "weights_g", "2 weights for 20 fish"},
		{[]string{"lost", "21"}, "lost", "between 0 and 20"},
		{[]string{"on", "2027-01-01"}, "on", ""},
		{[]string{"on", "2025-01-01"}, "on", ""},
		// Asked about: lighter than before, heavier than growth permits, thin.
		{[]string{"total_g", "2"}, "total_g", "Is that right?"},
		{[]string{"total_g", "40"}, "total_g", "could hardly pass"},
		{[]string{"lengths_mm", "60 60"}, "lengths_mm", "condition of 0.08"},
		{[]string{"count", "5000", "total_g", "900"}, "count", "alive. Is that right?"},
	} {
		f := fields("on", testDay, "count", "20", "total_g", "3.6")
		for i := 0; i < len(x.change); i += 2 {
			f.Set(x.change[i], x.change[i+1])
		}
		p := b.post(seasonPath(ts.one, "samples"), f)
		if p.Status != 422 {
			t.Errorf("%v: %s", x.change, p.show())
			continue
		}
		p.want(t, 422, `id="summary"`, `href="#`+x.field+`"`, x.text)
		p.lacks(t, "[sample", "[number", "<no value>")
	}
	if n := len(ts.load(ts.one).Samples); n != 1 {
		t.Fatalf("%d samples", n)
	}
	// Asked once: the box stores it, and says so.
	f := fields("on", testDay, "count", "20", "total_g", "40", "confirm", "total_g")
	b.post(seasonPath(ts.one, "samples"), f).want(t, 303)
	s := ts.load(ts.one)
	if got := s.Samples[len(s.Samples)-1]; len(got.Confirmed) != 1 || got.Confirmed[0] != "total_g" {
		t.Errorf("%+v", got)
	}
}

// The size of the latest sample stands beside the question of a release, and the
// field stays empty: an observed value is never filled in beforehand.
func TestReleaseShowsTheLatestSample(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, "release")+"?step=size").want(t, 200).lacks(t, "latest sample")
	fryTank(ts, nil)
	for lang, says := range map[string][]string{"en": {"The latest sample, 20 fish on", "0.518\u00a0g",
		"mean length 37.0\u00a0mm"}, "fr": {"Dernier échantillon, 20 poissons le", "0,518\u00a0g", "37,0\u00a0mm"}} {
		b.lang = lang
		doc := b.get(seasonPath(ts.one, "release")+"?step=size").want(t, 200, says...).lacks(t, "[release")
		for _, name := range []string{"mean_g", "mean_mm"} {
			if v, shown := doc.doc(t).Find("#" + name).Attr("value"); !shown || v != "" {
				t.Errorf("%s is filled in with %q", name, v)
			}
		}
	}
}

// Salmon fry at 4 C have no ration: the growth model has no growth below 6 C. Low
// oxygen or a stopped filter holds the food, as their flags say.
func TestFoodPageAgreesWithFlags(t *testing.T) {
	for want, edit := range map[string]func(*logbook.Check){
		"A pinch, and only what is eaten": func(c *logbook.Check) { c.Temperature = units.Some[units.Celsius](4) },
		"Oxygen too low":                  func(c *logbook.Check) { c.Oxygen = units.Some[units.MgPerL](3.5) },
		"Filter stopped":                  func(c *logbook.Check) { c.Filter = logbook.Stopped },
	} {
		ts := newTestServer(t)
		fryTank(ts, edit)
		ts.as(ts.class).get(seasonPath(ts.one, "food")).want(t, 200, want).lacks(t, "small meals", "[food",
			"<no value>")
	}
}
