package web

import (
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// inOrder fails unless the texts stand in a page one after the other.
func (p page) inOrder(t *testing.T, texts ...string) {
	t.Helper()
	at := 0
	for _, s := range texts {
		i := strings.Index(p.Body[at:], s)
		if i < 0 {
			t.Fatalf("no %q after the texts before it in %v: %s", s, texts, plainText(p.Body))
		}
		at += i + len(s)
	}
}

// Two tanks ask for action: the one without moving water stands before the warm one,
// whatever their names.
func TestWhatKillsSoonerStandsFirst(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	keeper.post(seasonPath(ts.one, "checks"), plainCheck("temperature", "17", "confirm", "temperature")).want(t, 303)
	keeper.post(seasonPath(ts.two, "checks"), plainCheck("filter", "stopped", "air_pump", "stopped")).want(t, 303)
	if warm, still := ts.flagOn(ts.one, "water"), ts.flagOn(ts.two, "power"); warm.Kind != "act" ||
		still.Kind != "act" {
		t.Fatalf("kinds %s and %s", warm.Kind, still.Kind)
	}
	one, two := `href="`+strings.TrimSuffix(seasonPath(ts.one, ""), "/"),
		`href="`+strings.TrimSuffix(seasonPath(ts.two, ""), "/")
	for _, path := range []string{"/board", "/morning"} {
		keeper.get(path).want(t, 200).inOrder(t, two, one)
	}
	keeper.get("/api/v1/board").want(t, 200).inOrder(t, `"tank":"Tank 2"`, `"tank":"Tank 1"`)
}

// School 2 stands before School 10 wherever schools and tanks are listed.
func TestNamesStandInNaturalOrder(t *testing.T) {
	ts := newTestServer(t)
	for _, name := range []string{"School 10", "School 2"} {
		s, err := ts.DB.CreateSite(t.Context(), ts.coordinator, logbook.Site{Name: name, Zone: "America/Halifax",
			Language:        "en",
			TemperatureUnit: units.Cel}, testNow, store.IdempotencyKey{})
		ts.must(err)
		k, err := ts.DB.CreateTank(t.Context(), ts.coordinator, logbook.Tank{SiteID: s.ID, Name: "Tank of " + name,
			Volume: 200,
			Wall:   logbook.Insulated}, testNow, store.IdempotencyKey{})
		ts.must(err)
		_, err = ts.DB.CreateSeason(t.Context(), ts.coordinator, logbook.Season{Label: "2025-26", Tank: k, Lot: ts.lot},
			testNow, store.IdempotencyKey{})
		ts.must(err)
	}
	for _, name := range []string{"Tank 10", "Tank 9"} {
		_, err := ts.DB.CreateTank(t.Context(), ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: name,
			Volume: 200,
			Wall:   logbook.Insulated}, testNow, store.IdempotencyKey{})
		ts.must(err)
	}
	boss := ts.as(ts.coordinator)
	for _, path := range []string{"/sites", "/board", "/today"} {
		boss.get(path).want(t, 200).inOrder(t, "School 2<", "School 10<")
	}
	boss.get("/sites/"+string(ts.alder.ID)).want(t, 200).inOrder(t, "Tank 1<", "Tank 2<", "Tank 9<", "Tank 10<")
}
