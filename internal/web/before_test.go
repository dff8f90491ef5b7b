package web

import (
	"strings"
	"testing"
	"time"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// What has to be ready before eggs come is ticked by the school and seen by the
// coordinator, with dates counted back from the day of delivery; the next delivery
// begins a new list.
func TestReadyBeforeTheEggs(t *testing.T) {
	ts := newTestServer(t)
	tank, err := ts.DB.CreateTank(t.Context(), ts.keeper, logbook.Tank{SiteID: ts.alder.ID, Name: "Tank 3", Volume: 200,
		Wall: logbook.Insulated}, testNow, store.IdempotencyKey{})
	ts.must(err)
	lot, err := ts.DB.CreateLot(t.Context(), ts.keeper, logbook.Lot{Code: "L7", Species: logbook.AtlanticSalmon,
		Supplier: "Test hatchery"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	path := "/tanks/" + string(tank.ID) + "/before-eggs"
	b := ts.as(ts.keeper)
	b.get("/sites/"+string(ts.alder.ID)).want(t, 200, path, "0 of 10 ready")
	b.get(path).want(t, 200, "not known yet", "42 days before", "ground-fault").lacks(t, "[before", "<no value>",
		"checked")

	b.step(t, strings.Replace(path, "before-eggs", "delivery-day", 1), "eggs", "on", "2026-03-31").want(t, 303)
	// 42 days before 31 March is 17 February.
	b.get(path).want(t, 200, "31 March", "17 Feb")

	offered := fields("offered", "leak", "done", "leak")
	offered.Add("offered", "spare")
	b.post(path, offered).want(t, 303)
	b.get(path).want(t, 200, "1 of 10 ready", "Ticked on 10 February by Keeper")
	ts.as(ts.coordinator).get("/programme/new-year").want(t, 200, "1 of 10 ready")
	ts.as(ts.class).get(path).want(t, 403)
	b.post(path, fields("offered", "unknown", "done", "unknown")).want(t, 422)

	b.post(path, fields("offered", "leak")).want(t, 303) // the tick is taken off
	b.get(path).want(t, 200, "0 of 10 ready")
	if n := ts.sqlCount("SELECT count(*) FROM ready"); n != 2 {
		t.Errorf("%d rows, want the tick and its taking off", n)
	}

	// The program ticks through the same code, and is refused the same.
	c := ts.program(ts.keeper)
	c.send("PATCH", "/tanks/"+string(tank.ID)+"/ready", `{"done":["spare","leak"],"not_done":["leak"]}`).want(t, 200, `"id":"spare"`)
	c.send("PATCH", "/tanks/"+string(tank.ID)+"/ready", `{"done":["unknown"]}`).want(t, 422, "unknown")
	b.get(path).want(t, 200, "2 of 10 ready")
	_, err = ts.DB.StartSeason(t.Context(), ts.keeper, logbook.Season{Label: "2025-26", Tank: tank, Lot: lot},
		logbook.Delivery{On: civil.MustParse(testDay), Count: 100, Method: logbook.ByHand}, testNow.Add(time.Minute),
		store.IdempotencyKey{})
	ts.must(err)
	b.get(path).want(t, 200, "0 of 10 ready")
}

func TestEveryItemBeforeTheEggsHasWords(t *testing.T) {
	ts := newTestServer(t)
	for _, lang := range []string{"en", "fr"} {
		p := ts.Cat.Printer(lang, units.Cel)
		for _, r := range care.BeforeEggs(civil.Date{}) {
			if text := p.T("before.item." + r.ID); strings.Contains(text, "[") || text == "" {
				t.Errorf("%s: %s", lang, text)
			}
		}
	}
}

// Eggs on their way between fertilisation and eyed are green by their thermal units
// too, when nobody named a stage: form and program ask why they are moved, and both
// store them with a reason. Iodine near hatching is asked about in the same way.
func TestTenderEggsAndIodineAskForAReason(t *testing.T) {
	ts := newTestServer(t)
	b, c := ts.as(ts.keeper), ts.program(ts.keeper)
	lot, err := ts.DB.CreateLot(t.Context(), ts.keeper, logbook.Lot{Code: "L7", Species: logbook.AtlanticSalmon,
		Supplier: "Test hatchery"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	season := func(name string, index float64) *logbook.Season {
		tank, err := ts.DB.CreateTank(t.Context(), ts.keeper, logbook.Tank{SiteID: ts.alder.ID, Name: name, Volume: 200,
			Wall: logbook.Insulated}, testNow, store.IdempotencyKey{})
		ts.must(err)
		s, err := ts.DB.StartSeason(t.Context(), ts.keeper, logbook.Season{Label: "2025-26", Tank: tank, Lot: lot},
			logbook.Delivery{On: civil.MustParse(testDay), Count: 100, Method: logbook.ByHand,
				Index: units.Some(index)}, testNow, store.IdempotencyKey{})
		ts.must(err)
		return s
	}
	green, late := season("Green", 0.2), season("Late", 0.95)
	move := fields("kind", "moved_out", "on", testDay, "count", "5", "place", "Tank 9")
	b.post(seasonPath(green, "events"), move).want(t, 422, "Green eggs die")
	c.send("POST", seasonPath(green, "events"), `{"kind":"moved_out","on":"`+testDay+
		`","count":5,"place":"Tank 9"}`).want(t, 422, "event.tender")
	move.Set("note", "the tank leaks")
	b.post(seasonPath(green, "events"), move).want(t, 303)

	bath := fields("kind", "treatment", "on", testDay, "product", "Iodophor 1 %", "purpose", "disinfection")
	b.post(seasonPath(late, "events"), bath).want(t, 422, "iodine kills")
	c.send("POST", seasonPath(late, "events"), `{"kind":"treatment","on":"`+testDay+
		`","product":"povidone-iodine","purpose":"x"}`).want(t, 422, "event.iodine_late")
	b.post(seasonPath(green, "events"), bath).want(t, 303)
	bath.Set("note", "the hatchery, by telephone")
	b.post(seasonPath(late, "events"), bath).want(t, 303)

	// On the day of delivery: no dose near hatching, and a word about green eggs.
	tank, err := ts.DB.CreateTank(t.Context(), ts.keeper, logbook.Tank{SiteID: ts.alder.ID, Name: "Next", Volume: 200,
		Wall: logbook.Insulated}, testNow, store.IdempotencyKey{})
	ts.must(err)
	path := "/tanks/" + string(tank.ID) + "/delivery-day"
	b.step(t, path, "eggs", "lot", string(lot.ID), "development_index", "0.93").want(t, 303)
	b.step(t, path, "iodophor", "asked", "yes", "stock_percent", "1", "bath_l", "4").want(t, 303)
	b.get(path+"?step=iodophor").want(t, 200, "No bath", "93").lacks(t, "mL of product")
	b.step(t, path, "eggs", "lot", string(lot.ID), "development_index", "0.2").want(t, 303)
	b.get(path+"?step=eggs").want(t, 200, "Green eggs die of shocks", "20")
}

// 200 fry of 0.5175 g get 3.4 g (see TestFoodPageSaysHowMuch); half protein and
// 92 g of nitrogen a kg of protein are 0.157 g, which is 0.786 mg/L N in 200 L. At 7.2 C a
// square metre takes up 0.3 + 2.2/5 x 0.2 = 0.388 g a day (aquaculture table, read).
// 103.5 g of fish in 200 L are 0.52 g/L.
func TestFoodAgainstTheFilter(t *testing.T) {
	ts := newTestServer(t)
	fryTank(ts, nil)
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, "food")).want(t, 200, "rises by about 0.786\u00a0mg/L N a day", "0.52 g in a litre",
		"0.40\u00a0m²", "Density index 0.0", "quarter of the food").
		lacks(t, "[food", "<no value>")
	b.lang = "fr"
	b.get(seasonPath(ts.one, "food")).want(t, 200, "0,786\u00a0mg/L N par jour").lacks(t, "[food", "<no value>")

	// Where the first food is planned it is said beforehand.
	egg := newTestServer(t)
	egg.look(egg.one, testDay, func(c *logbook.Check) {
		c.Temperature, c.Stage = units.Some[units.Celsius](7),
			logbook.EyedEgg
	})
	egg.as(egg.keeper).get(seasonPath(egg.one, "food")).want(t, 200, "Without a ripe filter",
		"it is not ripe by age alone")
}

// Who reads Fahrenheit is told how near new water comes in Fahrenheit: 2 °C are 3.6 °F.
func TestNewWaterInTheReadersUnit(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.birchKeeper)
	b.get(seasonPath(ts.far, "events/new?kind=water_change")).want(t, 200, "within 3.6\u00a0°F of the tank").lacks(t,
		"{{", "<no value>")
	ts.as(ts.keeper).get(seasonPath(ts.one, "events/new?kind=water_change")).want(t, 200,
		"within 2.0\u00a0°C of the tank")
}
