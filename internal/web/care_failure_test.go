package web

import (
	"context"
	"math"
	"net/url"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/water"
)

// careTank makes the tank of season one the bare one of 189 L whose closed-form
// values are known: 15.6 W/K, 14.0 h time constant.
func careTank(ts *testServer) {
	tank := ts.load(ts.one).Tank
	tank.Volume, tank.Wall = 189, logbook.BareGlass
	_, err := ts.DB.UpdateTank(context.Background(), ts.coordinator, tank, testNow)
	ts.must(err)
}

func failureAsk(pairs ...string) string {
	v := fields("asked", "yes", "what", "chiller", "since_on", testDay, "since_at", "09:00", "room", "22")
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return "failure?" + v.Encode()
}

// From 10 C in a room of 22 C a bare tank of 189 L takes 14.0 h ln(12/10) = 2.6 h
// to 12 C, where Atlantic salmon eggs become too warm, and is at 12.97 C after 4 h.
func TestFailureAnswersFirst(t *testing.T) {
	ts := newTestServer(t)
	careTank(ts)
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](10),
			logbook.EyedEgg
	})
	b := ts.as(ts.class)
	p := b.get(seasonPath(ts.one, failureAsk())).want(t, 200, "The water reaches 12.0",
		"in about 3 hours, around 11:35",
		"estimated from 189", "common practice, no source", "an adult does this", "An adult pulls the plugs",
		"sealed bottles", "Your permit and local rules come first")
	if i, j := strings.Index(p.Body, "The water reaches"), strings.Index(p.Body, "What to do"); i < 0 || j < i {
		t.Error("the answer does not come first")
	}
	// Four hours later: computed from the start, and the limit has passed.
	ts.at(testNow.Add(4 * time.Hour))
	b.get(seasonPath(ts.one, failureAsk())).want(t, 200, "The water is at 13.0", "already passed the limit of 12.0",
		"Bring it from 13.0")
	// A room that is colder than the limit never warms the tank to it.
	b.get(seasonPath(ts.one, failureAsk("room", "11"))).want(t, 200, "does not reach 12.0")
	// Power: oxygen and air. 200 eggs in 189 L last 158 h at 10 C from 10.5 to 6.0
	// mg/L; here from saturation (11.2) to the programme's own limit of 5.0, so longer.
	b.get(seasonPath(ts.one, failureAsk("what", "power", "tank", "10"))).want(t, 200, "battery air pump",
		"Without any air, oxygen lasts about", "sea level")
	b.lang = "fr"
	b.get(seasonPath(ts.one, failureAsk())).want(t, 200, "a déjà dépassé la limite")
}

func (ts *testServer) careEvent(e logbook.Event) {
	ts.t.Helper()
	e.SeasonID = ts.one.ID
	_, err := ts.DB.CreateEvent(context.Background(), ts.keeper, e, ts.clockAt(), store.Write{})
	ts.must(err)
}

func (ts *testServer) careLimit(l rules.Limit, stage logbook.Stage, v float64) {
	ts.t.Helper()
	own := store.Threshold{Key: l.String(), Species: ts.load(ts.one).Lot.Species, Stage: stage, Value: units.Some(v)}
	_, err := ts.DB.SetThreshold(context.Background(), ts.coordinator, own, "test", testNow, nil)
	ts.must(err)
}

// A tank that leaks less than thought may become too warm by its own pumps.
func TestFailurePerhaps(t *testing.T) {
	ts := newTestServer(t)
	careTank(ts)
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](11),
			logbook.EyedEgg
	})
	b := ts.as(ts.keeper)
	// 189 L: 15.6 W/K, 10.9 to 25: the end is 9 + 40/15.6 = 11.6 C, at most 12.7 C.
	b.get(seasonPath(ts.one, failureAsk("room", "9", "heat", "40"))).want(t, 200, "The water may reach 12.0",
		"perhaps from", "perhaps not").lacks(t, "does not reach 12.0")
	// Ice to hold 11 C against 10.9 to 25 x (9 - 11) + 40 = 18.2 to 0 W: 0.17 to 0
	// kg an hour (334 + 46 kJ per kg).
	b.get(seasonPath(ts.one, failureAsk("room", "9", "heat", "40"))).want(t, 200, "It could be 0.0 to 0.2 kg an hour")
}

// Ordinary input has an answer or a refusal, never a broken page.
func TestFailureOrdinaryInput(t *testing.T) {
	ts := newTestServer(t)
	careTank(ts)
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](10),
			logbook.Fry
	})
	b := ts.as(ts.keeper)
	for _, weight := range []string{"0", "-1", "10001"} {
		b.get(seasonPath(ts.one, failureAsk("weight", weight))).want(t, 422, "Mean weight of a fish",
			"more than 0 and at most 10")
	}
	for _, weight := range []string{"0.0000001", "0.4", "10000"} {
		b.get(seasonPath(ts.one, failureAsk("weight", weight))).want(t, 200, "<h1")
	}
	for _, tank := range []string{"40.5", "45", "50"} {
		b.get(seasonPath(ts.one, failureAsk("tank", tank, "weight", "0.4"))).want(t, 200, "already passed",
			"This part is left out. It holds from 0.0", "to 40.0")
	}
	ts.careLimit(rules.TempActLow, logbook.Fry, -1)
	b.get(seasonPath(ts.one, failureAsk("room", "1"))).want(t, 200, "Too warm: ").lacks(t, "Too cold: ")
}

// What is passed already comes before what is still to come.
func TestFailureFirstLimitFirst(t *testing.T) {
	ts := newTestServer(t)
	careTank(ts)
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](14),
			logbook.EyedEgg
	})
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, failureAsk("tank", "14", "room", "0"))).want(t, 200,
		"already passed the limit of 12.0").lacks(t, "The water reaches")
	// Below the high limit the low one is the one that comes.
	b.get(seasonPath(ts.one, failureAsk("tank", "6", "room", "-5"))).want(t, 200, "The water reaches").lacks(t,
		"The water reaches 12.0")
}

func TestFailureWithoutAQuestion(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, "failure")).want(t, 200, "What to do, in this order",
		"The log has no water temperature").lacks(t, `value="7`)
	if first := b.get(seasonPath(ts.one, "failure")).Body; strings.Index(first, `id="do"`) > strings.Index(first,
		`id="ask"`) {
		t.Error("who opens the page in a hurry has to read a form before what to do")
	}
	b.get(seasonPath(ts.one, "")[:len(seasonPath(ts.one, ""))-1]).want(t, 200, "Chiller or power out", "/failure")
	b.get("/board").want(t, 200, `href="/failure"`)
	b.get("/failure").want(t, 200, seasonPath(ts.one, "failure"), seasonPath(ts.two, "failure")).lacks(t,
		seasonPath(ts.far, "failure"))
	if p := ts.as(ts.birchKeeper).get("/failure"); p.Status != 303 || p.Location != seasonPath(ts.far, "failure") {
		t.Errorf("one tank only: %s", p.show())
	}
	ts.as(ts.birchKeeper).get(seasonPath(ts.one, "failure")).want(t, 404)
}

func TestFailureRefuses(t *testing.T) {
	ts := newTestServer(t)
	ts.look(ts.one, testDay, nil)
	b := ts.as(ts.keeper)
	for _, c := range []struct{ field, value, want string }{
		{"what", "", "Choose an answer"}, {"since_at", "9 o'clock", "Write the time like"},
		{"since_at", "23:00", "still to come"},
		{"since_on", "2026-02-31", "no such day"}, {"since_on", "2025-12-01", "up to 14 days"},
		{"room", "", "must be a number"},
		{"room", "warm", "number"}, {"room", "90", "must be from"}, {"tank", "60", "must be from"},
		{"heat", "-5", "must be from"},
		{"heat", "many", "must be a number"}, {"back_at", "08:00", "after the failure began"},
	} {
		p := b.get(seasonPath(ts.one, failureAsk(c.field, c.value))).want(t, 422, c.want, "Error: ")
		if strings.Contains(p.Body, "The water reaches") {
			t.Errorf("%s=%s: answered", c.field, c.value)
		}
		if c.value != "" && !strings.Contains(p.Body, `value="`+strings.ReplaceAll(c.value, "'", "&#39;")) {
			t.Errorf("%s=%s: not kept", c.field, c.value)
		}
	}
}

// A warming in the tank's own logger is fitted, and its known UA is told.
func TestFailureFitsTheLogger(t *testing.T) {
	ts := newTestServer(t)
	careTank(ts)
	const ua = 20.0
	tau := 189 * water.WaterJPerKgK / ua / 3600
	start := time.Date(2026, 2, 5, 8, 0, 0, 0, time.UTC) // 04:00 in Halifax
	var rs []logbook.Reading
	for i := range 80 {
		h := float64(i)/4 - 6
		temp := 7.0
		if h > 0 {
			temp = 22 - 15*math.Exp(-h/tau)
		}
		at := start.Add(time.Duration(i) * 15 * time.Minute)
		rs = append(rs, logbook.Reading{At: at, On: ts.Assess.Today(ts.alder, at),
			Temperature: units.Celsius(math.Round(temp*1000) / 1000), Quality: logbook.Good})
	}
	_, err := ts.DB.SaveReadings(context.Background(), ts.keeper,
		store.Import{SeasonID: ts.one.ID, FileName: "logger.csv", FileSHA256: strings.Repeat("b", 64)}, rs, testNow,
		nil)
	ts.must(err)
	b := ts.as(ts.keeper)
	// The log tells of no outage then: the chiller may have run against it.
	b.get(seasonPath(ts.one, failureAsk("tank", "7"))).want(t, 200, "estimated from 189",
		"No logger record of a logged outage").lacks(t, "fitted to this tank")
	ts.careEvent(logbook.Event{Kind: logbook.PowerCut, On: civil.MustParse("2026-02-05"), Time: "04:00",
		Hours: units.Some(14.0)})
	b.get(seasonPath(ts.one, failureAsk("tank", "7"))).want(t, 200, "Heat comes in at 20.0 W per degree, fitted",
		"95 % interval", "5 February").lacks(t, "estimated from 189")
	b.get(seasonPath(ts.one, failureAsk("tank", "7", "heat_from", "walls"))).want(t, 200, "estimated from 189").lacks(t,
		"fitted to this tank")
	// A room that could not have warmed it: walls, and it says why.
	b.get(seasonPath(ts.one, failureAsk("tank", "7", "room_then", "8"))).want(t, 200, "does not fit a tank that warms",
		"estimated from 189")
	// The growth follows the readings of the time itself.
	v := url.Values{"asked": {"yes"}, "what": {"chiller"}, "since_on": {"2026-02-05"}, "since_at": {"10:00"},
		"room":    {"22"},
		"back_on": {"2026-02-05"}, "back_at": {"20:00"}, "tank": {"18"}}
	b.get(seasonPath(ts.one, "failure?"+v.Encode())).want(t, 200, "follows the logger readings",
		"They are ahead by about", "Bring it from 18.0")
}

// Eyed eggs at 16 C with a setpoint of 8 and a limit of 12: below the limit the
// same day, and then in small steps; the page never tells to hold 16 C.
func TestFailureCoolsBelowTheLimitTheSameDay(t *testing.T) {
	ts := newTestServer(t)
	careTank(ts)
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](16),
			logbook.EyedEgg
	})
	b := ts.as(ts.keeper)
	p := b.get(seasonPath(ts.one, failureAsk("tank", "16")))
	p.want(t, 200, "Bring it from 16.0", "to 11.5", "today, about 1.0", "an hour",
		"bring the water below it the same day").
		lacks(t, "To hold 16.0", "cool slowly", "over hours", "<no value>", "[care", "[rules")
	b.lang = "fr"
	b.get(seasonPath(ts.one, failureAsk("tank", "16"))).want(t, 200, "Ramenez l’eau de 16,0").lacks(t, "<no value>",
		"[care", "[rules")
}

// A room at 2 C: no ice, no "turn the heating down"; eggs in a basket of a litre have
// hours, not days, and somebody moves water past them.
func TestFailureInTheColdAndInABasket(t *testing.T) {
	ts := newTestServer(t)
	careTank(ts)
	tank := ts.load(ts.one).Tank
	tank.HasBasket = true
	_, err := ts.DB.UpdateTank(context.Background(), ts.coordinator, tank, testNow)
	ts.must(err)
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](7),
			logbook.EyedEgg
	})
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, failureAsk("what", "power", "room", "2"))).want(t, 200, "No ice is needed",
		"Lift the basket", "In a basket of", "eggs have about 115 minutes", "above freezing", "stale water").
		lacks(t, "Float sealed", "turn the heating down")
}

// A check that found everything stopped has said what is out: whoever opens the page
// reads of air before ice on the coil, and is asked nothing first.
func TestFailurePageKnowsThatThePowerIsOut(t *testing.T) {
	ts := newTestServer(t)
	careTank(ts)
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](8), logbook.EyedEgg
		c.Chiller, c.Filter, c.AirPump = logbook.Stopped, logbook.Stopped, logbook.Stopped
	})
	ts.as(ts.class).get(seasonPath(ts.one, "failure")).want(t, 200, "Start a battery air pump").lacks(t,
		"Look for ice on the coil")
}
