package web

import (
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"pgregory.net/rapid"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/req"
)

func roundPath(ts *testServer) string { return "/sites/" + string(ts.alder.ID) + "/round" }

// row makes the form values of one tank's row.
func row(s *logbook.Season, pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(string(s.ID)+"_"+pairs[i], pairs[i+1])
	}
	return v
}

func joined(all ...url.Values) url.Values {
	out := url.Values{}
	for _, v := range all {
		for k, x := range v {
			out[k] = append(out[k], x...)
		}
	}
	return out
}

func TestRoundStoresEachRowAsACheck(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	shown := b.get(roundPath(ts)).want(t, 200, "Tank 1", "Tank 2", string(ts.one.ID)+"_temperature").lacks(t, "Tank B",
		"placeholder=", `type="number"`)
	sent := joined(shown.hidden(), row(ts.one, "temperature", "7,1", "gear", "filter", "dead_eggs", "2", "stage",
		"eyed_egg", "note", "Cover open"),
		row(ts.two, "temperature", "7.4", "gear", "running", "dead_eggs", "0"), fields("observer", "Group 2"))
	p := b.post(roundPath(ts), sent)
	if p.Status != 303 || p.Location != roundPath(ts) {
		t.Fatalf("got %s", p.show())
	}
	one, two := ts.load(ts.one).Checks, ts.load(ts.two).Checks
	if len(one) != 1 || len(two) != 1 {
		t.Fatalf("%d and %d checks", len(one), len(two))
	}
	c := one[0]
	if c.Temperature.V != 7.1 || c.TemperatureEntered != "7,1" || c.Chiller != logbook.Running ||
		c.Filter != logbook.Stopped || c.AirPump != logbook.NotFitted ||
		c.DeadEggs != units.Some(2) || c.DeadAlevins.OK || c.Stage != logbook.EyedEgg || c.Note != "Cover open" ||
		c.Observer != "Group 2" || c.By != logbook.Keeper {
		t.Errorf("stored %+v", c)
	}
	if two[0].AirPump != logbook.Running || two[0].DeadEggs != units.Some(0) {
		t.Errorf("stored %+v", two[0])
	}
	b.get(roundPath(ts)).want(t, 200, "2 tanks are saved", "Checked at 09:00, Group 2", "data-stored",
		"/checks/"+string(c.ID)).lacks(t, "_temperature")

	// The same form again stores nothing new and is answered the same.
	if p := b.post(roundPath(ts), sent); p.Status != 303 {
		t.Errorf("sent again: %s", p.show())
	}
	if n := len(ts.load(ts.one).Checks) + len(ts.load(ts.two).Checks); n != 2 {
		t.Errorf("%d checks after the second tap", n)
	}
}

func TestRoundKeepsEverythingOnProblems(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	_, err := ts.DB.SaveCheck(t.Context(), ts.keeper,
		logbook.Check{SeasonID: ts.two.ID, On: civil.MustParse("2026-02-09"), Slot: logbook.Morning,
			Temperature: units.Some[units.Celsius](7)}, testNow, store.Write{})
	ts.must(err)
	base := b.get(roundPath(ts)).want(t, 200).hidden()
	two := string(ts.two.ID)
	one := row(ts.one, "temperature", "7.0")
	for _, x := range []struct {
		name string
		row  url.Values
		want []string
	}{
		{"no number", row(ts.two, "temperature", "warm", "note", "kept note"), []string{"Tank 2, Water temperature",
			"It must be a number", `value="warm"`, "kept note"}},
		{"impossible", row(ts.two, "temperature", "70"), []string{"Did you mean 7.0"}},
		{"surprise", row(ts.two, "temperature", "12"), []string{"much warmer", two + `_confirm`}},
		{"unknown gear", row(ts.two, "gear", "fire"), []string{"Choose one of the answers shown"}},
		{"half a fish", row(ts.two, "dead_eggs", "1.5"), []string{"Write the whole number"}},
		{"day to come", joined(row(ts.two, "temperature", "7"), fields("on", "2026-02-11")),
			[]string{"is still to come"}},
		{"day over", joined(row(ts.two, "temperature", "7"), fields("on", "2026-02-09")),
			[]string{`name="confirm" value="on"`}},
	} {
		t.Run(x.name, func(t *testing.T) {
			f := joined(one, x.row)
			for k, v := range base {
				if f[k] == nil {
					f[k] = v
				}
			}
			p := b.post(roundPath(ts), f).want(t, 422, append(x.want, `value="7.0"`, "<title>Error: ")...)
			if n := len(ts.load(ts.one).Checks); n != 0 {
				t.Errorf("the good row was stored: %s", plainText(p.Body))
			}
		})
	}
	b.post(roundPath(ts), base).want(t, 422, "Fill in at least one tank")

	// The surprising value is asked about once.
	ok := joined(base, one, row(ts.two, "temperature", "12", "confirm", "temperature"))
	if p := b.post(roundPath(ts), ok); p.Status != 303 {
		t.Fatalf("confirmed: %s", p.show())
	}
	if c := ts.load(ts.two).Checks; len(c) != 2 || len(c[1].Confirmed) != 1 {
		t.Errorf("stored %+v", c)
	}
}

func TestRoundLeavesTodaysCheck(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	base := b.get(roundPath(ts)).want(t, 200).hidden()
	// The class is faster with Tank 1.
	_, err := ts.DB.SaveCheck(t.Context(), ts.class,
		logbook.Check{SeasonID: ts.one.ID, On: civil.MustParse("2026-02-10"), Slot: logbook.Morning,
			Temperature: units.Some[units.Celsius](6.5), Observer: "Group 9"}, testNow, store.Write{})
	ts.must(err)
	f := joined(base, row(ts.one, "temperature", "7"), row(ts.two, "temperature", "7.2"))
	b.post(roundPath(ts), f).want(t, 422, "already has today", "Group 9", `value="7"`, `value="7.2"`)
	if n := len(ts.load(ts.two).Checks); n != 0 {
		t.Errorf("Tank 2 has %d checks", n)
	}
	if c := ts.load(ts.one).Checks; len(c) != 1 || c[0].Temperature.V != 6.5 {
		t.Errorf("overwritten: %+v", c)
	}
	f.Set(string(ts.one.ID)+"_temperature", "")
	if p := b.post(roundPath(ts), f); p.Status != 303 || len(ts.load(ts.two).Checks) != 1 {
		t.Errorf("without the row: %s", p.show())
	}
	b.get(roundPath(ts)).want(t, 200, "Group 9")
	// A season of another school is no row of this page.
	b.post(roundPath(ts), joined(base, row(ts.far, "temperature", "7"))).want(t, 409)
	if n := len(ts.load(ts.far).Checks); n != 0 {
		t.Error("a check of another school was stored")
	}
}

// A round with a bad row stores nothing, wherever the row stands and whatever is
// wrong with it.
func TestRoundAllOrNothing(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	base := b.get(roundPath(ts)).want(t, 200).hidden()
	rapid.Check(t, func(rt *rapid.T) {
		good := rapid.SampledFrom([]string{"6", "7.0", "7,5", "45 F"}).Draw(rt, "good")
		bad := rapid.SampledFrom([][2]string{{"temperature", "x"}, {"temperature", "99"}, {"dead_eggs", "-1"},
			{"dead_eggs", "two"}, {"dead_eggs", "201"},
			{"stage", "tadpole"}, {"gear", "chiller+"}, {"gear", "air_pump+lamp"},
			{"note", strings.Repeat("n", 2001)}}).Draw(rt, "bad")
		first, second := ts.one, ts.two
		if rapid.Bool().Draw(rt, "swap") {
			first, second = second, first
		}
		p := b.post(roundPath(ts), joined(base, row(first, "temperature", good), row(second, bad[0], bad[1])))
		if p.Status != 422 {
			rt.Fatalf("status %d for %v", p.Status, bad)
		}
		if len(ts.load(ts.one).Checks)+len(ts.load(ts.two).Checks) != 0 {
			rt.Fatalf("a row was stored beside %v", bad)
		}
	})
}

// A round that came after the session had ended is kept, and saved after sign-in.
func TestRoundIsKept(t *testing.T) {
	ts := newTestServer(t)
	f := joined(ts.as(ts.keeper).get(roundPath(ts)).want(t, 200).hidden(), row(ts.one, "temperature", "7"))
	b := ts.lapsed("keeper")
	b.post(roundPath(ts), f).want(t, 303)
	b.demoSignIn("keeper")
	b.post(req.PendingPath, joined(b.get(req.PendingPath).want(t, 200, "A round of all tanks").hidden(),
		fields("do", "save"))).want(t, 303)
	if n := len(ts.load(ts.one).Checks); n != 1 {
		t.Errorf("%d checks stored", n)
	}
}

// The sheet on paper asks what the round page asks, in the same order, and the page
// takes an earlier day.
func TestPaperSheetFollowsTheRound(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	b := ts.as(ts.keeper)
	site := "/sites/" + string(ts.alder.ID)
	round := b.get(site+"/round?on=2026-02-06").want(t, 200, `name="on" value="2026-02-06"`, "Friday 6 February").doc(t)
	var asked []string
	round.Find(".round-row:has(label)").First().Find("label").Each(func(_ int, l *goquery.Selection) {
		l.Find(".hidden-label").Remove()
		asked = append(asked, strings.TrimSpace(l.Text()))
	})
	sheet := b.get(site+"/paper?on=2026-02-06").want(t, 200, "Monday 2", "Sunday 8").doc(t)
	var printed []string
	sheet.Find(".paper").First().Find("tbody th").Each(func(_ int, h *goquery.Selection) {
		h.Find(".sub").Remove()
		printed = append(printed, strings.TrimSpace(h.Text()))
	})
	if len(asked) < 4 || !slices.Equal(printed[:len(printed)-1], asked) {
		t.Errorf("on paper %q, on the page %q", printed, asked)
	}
}
