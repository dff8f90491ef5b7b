package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// Checks of a tank of another lot are saved while a logger file of many
// readings is stored and judged: none waits for the whole of it.
func TestSavesBesideAnImport(t *testing.T) {
	ts := newTestServer(t)
	lot, err := ts.DB.CreateLot(t.Context(), ts.coordinator, logbook.Lot{Code: "L2", Species: logbook.AtlanticSalmon,
		Supplier: "Test hatchery"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	tank, err := ts.DB.CreateTank(t.Context(), ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Tank 3",
		Volume: 200, Wall: logbook.Insulated}, testNow, store.IdempotencyKey{})
	ts.must(err)
	other, err := ts.DB.StartSeason(t.Context(), ts.coordinator, logbook.Season{Label: "2025-26", Tank: tank, Lot: lot},
		logbook.Delivery{On: testToday.AddDays(-21),
			Count: 200, Method: logbook.ByHand, ThermalUnits: units.Some[units.ThermalUnits](310),
			Stage: logbook.EyedEgg},
		testNow, store.IdempotencyKey{})
	ts.must(err)
	k, c := ts.program(ts.keeper), ts.program(ts.keeper).with("Content-Type", "text/csv")
	const n = 200_000
	var file strings.Builder
	file.WriteString("Date,Temp C\n")
	for i := range n {
		fmt.Fprintf(&file, "%s,7.%d\n", testNow.AddDate(0, 0,
			-20).Add(time.Duration(i)*8*time.Second).Format(time.DateTime), i%10)
	}
	done := make(chan page, 1)
	start := time.Now()
	go func() { done <- c.post("/seasons/"+string(ts.one.ID)+"/readings", file.String()) }()
	var waits []time.Duration
	slots := logbook.Slots()
	for i := 0; ; i++ {
		select {
		case p := <-done:
			p.want(t, 200, fmt.Sprintf(`"added":%d,`, n))
			took := time.Since(start)
			slices.Sort(waits)
			last := waits[len(waits)-1]
			t.Logf("%d readings in %v; of %d saves half waited %v, 95 of 100 up to %v, the last %v",
				n, took, len(waits), waits[len(waits)/2], waits[len(waits)*95/100], last)
			// The bound is loose: machines differ, and a whole file takes seconds.
			if last > took/4 {
				t.Errorf("a save waited %v of the %v of the import", last, took)
			}
			return
		case <-time.After(20 * time.Millisecond):
		}
		on := testToday.AddDays(-i / len(slots) % 19)
		saved := time.Now()
		p := k.post("/seasons/"+string(other.ID)+"/checks", fmt.Sprintf(`{"on":"%s","slot":"%s","temperature":{"value":7.2,"unit":"Cel"},
			"chiller":"running"}`, on, slots[i%len(slots)]))
		waits = append(waits, time.Since(saved))
		if p.Status >= 500 { // what comes a second time is known already
			t.Fatalf("status %d: %s", p.Status, p.Body)
		}
	}
}
