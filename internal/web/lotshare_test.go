package web

import (
	"context"
	"fmt"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// Putting a lot of another school in a tank is the coordinator's act on every way
// in: it joins that school's forecast and takes the lot out of its keeper's hands.
func TestOnlyTheCoordinatorSharesALot(t *testing.T) {
	ts, ctx := newTestServer(t), context.Background()
	tank := func(site logbook.Site, name string) logbook.Tank {
		k, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: site.ID, Name: name, Volume: 200,
			Wall:     logbook.Insulated,
			Setpoint: units.Some[units.Celsius](7)}, testNow, store.IdempotencyKey{})
		ts.must(err)
		return k
	}
	lot, err := ts.DB.CreateLot(ctx, ts.keeper, logbook.Lot{Code: "Alder own", Species: logbook.AtlanticSalmon,
		FertilisedOn: civil.MustParse("2025-11-01")}, testNow, store.IdempotencyKey{})
	ts.must(err)
	own, err := ts.DB.StartSeason(ctx, ts.keeper, logbook.Season{Label: "2025-26", Tank: tank(ts.alder, "Tank 3"),
		Lot: lot},
		logbook.Delivery{On: civil.MustParse("2026-01-20"), Count: 200, Method: logbook.ByHand,
			ThermalUnits: units.Some[units.ThermalUnits](310), Stage: logbook.EyedEgg}, testNow, store.IdempotencyKey{})
	ts.must(err)
	free := tank(ts.birch, "Tank C")
	alder, birch := ts.program(ts.keeper), ts.program(ts.birchKeeper)
	swimUp := func() string {
		return alder.get("/seasons/"+string(own.ID)+"/forecast").want(t, 200).str(t, "events", "swim_up", "p50")
	}
	before := swimUp()
	if before == "" {
		t.Fatal("no forecast to move")
	}

	// With a hatch that half of the eggs already have, it would move by days.
	_, err = ts.DB.CreateLot(ctx, ts.birchKeeper, logbook.Lot{Code: "L7", Species: logbook.AtlanticSalmon}, testNow,
		store.IdempotencyKey{})
	ts.must(err)
	b, path := ts.as(ts.birchKeeper), "/tanks/"+string(free.ID)
	b.get(path+"/seasons/new").want(t, 200, "L7").lacks(t, "Alder own")
	form := fields("lot", string(lot.ID), "on", "2026-01-12", "count", "100", "method", "by_hand", "stage", "eyed_egg",
		"note", "kept words")
	b.post(path+"/seasons", form).want(t, 422, "in tanks of another school", "kept words")
	season := fmt.Sprintf(`{"tank_id":"%s","lot_id":"%s","delivery":{"on":"2026-01-12","count":100,"method":"by_hand"}}`, free.ID, lot.ID)
	birch.post("/seasons", season).wantProblem(t, 403, "", "error.lot.elsewhere")
	birch.post("/seasons", fmt.Sprintf(`{"tank_id":"%s","lot_id":"%s"}`, free.ID, lot.ID)).wantProblem(t, 403, "",
		"error.lot.elsewhere")
	_, err = ts.DB.FinishDelivery(ctx, ts.birchKeeper, logbook.Season{Label: "x", Tank: free, Lot: lot},
		logbook.Delivery{}, 0, testNow)
	if err == nil {
		t.Error("the delivery day shared a lot")
	}

	if after := swimUp(); after != before {
		t.Errorf("swim-up moved from %s to %s", before, after)
	}
	edits := ts.load(own).Lot.Edits
	alder.with("If-Match", fmt.Sprintf(`"%d"`, edits)).send("PATCH", "/lots/"+string(lot.ID),
		`{"note":"still ours"}`).want(t, 200)

	// The coordinator may, and then the lot is of both.
	ts.program(ts.coordinator).post("/seasons", season).want(t, 201)
	alder.with("If-Match", fmt.Sprintf(`"%d"`, edits+1)).send("PATCH", "/lots/"+string(lot.ID), `{"note":"no more"}`).
		wantProblem(t, 403, "", "error.lot.shared")
}
