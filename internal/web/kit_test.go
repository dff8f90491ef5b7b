package web

import (
	"math"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// A kit that counts NH4 shows 1.2878 for 1 mg/L of nitrogen (molar masses; science
// notes W2: NH4-N x 1.2878 = NH4).
func TestKitIsAskedOnceAndKeptAsNitrogen(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	path := "/sites/" + string(ts.alder.ID) + "/kit"
	b.get(seasonPath(ts.one, "checks/new")).want(t, 200, "It is not known yet")
	b.post(path, fields("name", "", "basis", "", "revision", "0")).want(t, 422, `id="summary"`).lacks(t, "[kit")
	b.post(path, fields("name", "Invented drop test", "basis", "NH4", "step_mg_l", "0.2", "revision", "0")).want(t, 303)
	b.get(path).want(t, 200, "Invented drop test").lacks(t, "[kit", "<no value>")
	form := b.get(seasonPath(ts.one, "checks/new")).want(t, 200, "Total ammonia as NH4", "Invented drop test").lacks(t,
		"It is not known yet", "[kit")

	f := form.hidden()
	for k, v := range map[string]string{"on": testDay, "slot": "morning", "temperature": "7", "ph": "7.5",
		"tan_mg_l": "1.2878"} {
		f.Set(k, v)
	}
	p := b.post(seasonPath(ts.one, "checks"), f).want(t, 303)
	c := ts.load(ts.one).Checks
	if got := float64(c[len(c)-1].TAN.V); math.Abs(got-1) > 1e-4 {
		t.Errorf("stored %v mg/L as N, want 1", got)
	}
	b.get(p.Location+"/correct").want(t, 200, `value="1.2878"`)
	b.get(seasonPath(ts.one, "water")).want(t, 200, "1.29", "as NH4", "Invented drop test").lacks(t, "Nobody has told",
		"[kit")

	// A new kit needs a reason; a form that was opened with the kit before still
	// counts as it said.
	b.post(path, fields("name", "Other test", "basis", "N", "revision", "1")).want(t, 422, "reason")
	b.post(path, fields("name", "Other test", "basis", "N", "revision", "1", "reason", "new box")).want(t, 303)
	f.Set("slot", "extra")
	f.Set("key", string(logbook.NewID()))
	b.post(seasonPath(ts.one, "checks"), f).want(t, 303)
	c = ts.load(ts.one).Checks
	if got := float64(c[len(c)-1].TAN.V); math.Abs(got-1) > 1e-4 {
		t.Errorf("a form of the kit before stored %v, want 1", got)
	}
	past, err := ts.DB.RowHistory(t.Context(),
		func() logbook.ID { k, err := ts.DB.Kit(t.Context(), ts.alder.ID); ts.must(err); return k.ID }())
	ts.must(err)
	if len(past) != 1 || !strings.Contains(string(past[0].Row), "Invented drop test") {
		t.Errorf("the kit before is not kept: %+v", past)
	}
	if k, err := ts.DB.Kit(t.Context(), ts.birch.ID); err != nil || k.Known() {
		t.Errorf("another school has the kit too: %+v %v", k, err)
	}
}

// EIFAC's 0.025 mg/L is an act limit for un-ionised ammonia (water_limits.csv).
// 2.2 mg/L as N at pH 7.6 and 10 C is 0.0196 as NH3: outside CCME's 0.019.
func TestSetOfWaterLimitsIsChosenWithAReason(t *testing.T) {
	ts := newTestServer(t)
	careTests(ts, func(c *logbook.Check) { c.TAN = units.Some[units.MgPerL](2.2) })
	b := ts.as(ts.coordinator)
	b.get("/rules/water-limits").want(t, 200, "CCME", "EIFAC", "Piper et al. 1982", "0.0125").lacks(t, "[waterset",
		"<no value>")
	b.post("/rules/water-limits", fields("set", "Piper et al. 1982", "reason", "")).want(t, 422, `id="summary"`)
	b.post("/rules/water-limits", fields("set", "", "reason", "x")).want(t, 422, `id="summary"`)
	b.post("/rules/water-limits", fields("set", "Texas Parks & Wildlife", "reason", "our permit names it")).want(t, 303)
	b.get("/rules/water-limits").want(t, 200, "Texas Parks &amp; Wildlife: ", "our permit names it")
	b.get("/seasons/"+string(ts.one.ID)).lacks(t, "Harmful ammonia") // 0.0196 is inside 0.02
	b.post("/rules/water-limits", fields("set", "Piper et al. 1982", "reason", "stricter for the new room")).want(t,
		303)
	flag := b.get("/seasons/"+string(ts.one.ID)).want(t, 200, "Harmful ammonia", "Piper et al. 1982: ")
	flag.lacks(t, "Texas")
	b.get(seasonPath(ts.one, "food")).want(t, 200)
	b.get(seasonPath(ts.one, "report")).want(t, 200, "outside: ", "Piper et al. 1982: ").lacks(t, "[seasonreport")
	// Each limit tells its history.
	b.get("/rules/thresholds/ammonia_watch").want(t, 200, "our permit names it", "stricter for the new room")
	b.post("/rules/water-limits", fields("set", "stock", "reason", "back")).want(t, 303)
	profile, err := ts.Assess.Profile(t.Context())
	ts.must(err)
	if n := len(profile.Overrides()); n != 0 {
		t.Errorf("%d limits are not stock", n)
	}
	ts.as(ts.keeper).get("/rules/water-limits").want(t, 403)
}
