package web

import (
	"fmt"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// TestSeasonLabelHasOneBound: page and JSON refuse the same label, and a longer one
// that is stored already hinders no other change.
func TestSeasonLabelHasOneBound(t *testing.T) {
	ts := newTestServer(t)
	b, api, long := ts.as(ts.coordinator), ts.program(ts.coordinator), strings.Repeat("x", logbook.MaxLabel+1)
	path := "/seasons/" + string(ts.one.ID)
	patch := func(body string) page {
		return api.with("If-Match", fmt.Sprintf("%q", fmt.Sprint(ts.load(ts.one).Edits))).send("PATCH", path, body)
	}
	f := b.get(path + "/edit").hidden()
	f.Set("label", long)
	b.post(path+"/edit", f).want(t, 422)
	patch(`{"label":"`+long+`"}`).wantProblem(t, 422, "label", "")

	tank, err := ts.DB.CreateTank(t.Context(), ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Tank 9",
		Volume: 100,
		Wall:   logbook.Insulated}, testNow, store.IdempotencyKey{})
	ts.must(err)
	ts.one, err = ts.DB.CreateSeason(t.Context(), ts.coordinator, logbook.Season{Label: long, Tank: tank, Lot: ts.lot},
		testNow, store.IdempotencyKey{})
	ts.must(err)
	path = "/seasons/" + string(ts.one.ID)
	patch(`{"release_by":"2026-06-01"}`).want(t, 200)
	f = b.get(path + "/edit").hidden()
	f.Set("label", long)
	f.Set("release_by", "2026-06-02")
	b.post(path+"/edit", f).want(t, 303)
}
