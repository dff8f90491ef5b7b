package web

import (
	"net/url"
	"strings"
	"testing"

	"reddside/internal/logbook"
)

// A coordinator enters a permit by the form, wrongly first; it covers a tank, and its days
// are those of the tank. A keeper reads it and changes nothing.
func TestPermitByForm(t *testing.T) {
	f := newFullServer(t)
	boss, keeper := f.as(f.coordinator), f.as(f.keeper)
	send := func(path string, status int, kv ...string) page {
		t.Helper()
		v := url.Values{}
		for i := 0; i < len(kv); i += 2 {
			v.Set(kv[i], kv[i+1])
		}
		return boss.post(path, v).want(t, status)
	}
	wrong := send("/permits", 422, "number", "P-1", "from", "2026-06-15", "to", "2026-05-01", "most_g", "0.1", "least_g", "3")
	for _, text := range []string{"There is a permit P-1 already", "must not be before the first day", "below the lower"} {
		if !strings.Contains(wrong.Body, text) {
			t.Errorf("no %q in %s", text, plainText(wrong.Body))
		}
	}
	send("/permits", 303, "number", "P-2", "waters", "Invented River; Elm Brook", "from", "2026-05-01", "to", "2026-06-15",
		"most_fish", "500", "species_brown_trout", "yes")
	all, err := f.DB.Permits(t.Context())
	f.must(err)
	p := all[1]
	if p.Number != "P-2" || p.Species != "brown_trout" || !p.AllowsWater("elm  brook") || p.AllowsWater("Other") {
		t.Errorf("stored %+v", p)
	}
	send("/permits/"+string(p.ID)+"/seasons", 303, "season_"+string(f.one.ID), "yes")
	s, err := f.DB.LoadSeason(t.Context(), f.one.ID)
	f.must(err)
	if s.PermitID != p.ID || s.ReleaseBy != p.To {
		t.Errorf("season under %q until %v", s.PermitID, s.ReleaseBy)
	}
	send("/permits/"+string(p.ID)+"/edit", 422, "number", "P-2", "to", "2026-06-20", "revision", "1") // no reason
	send("/permits/"+string(p.ID)+"/edit", 303, "number", "P-2", "to", "2026-06-20", "revision", "1", "why", "extended")
	send("/permits/"+string(p.ID)+"/edit", 409, "number", "P-2", "revision", "1", "why", "late")
	days := url.Values{"label": {"2025-26"}, "release_from": {"2026-04-01"}, "revision": {"2"}}
	if got := keeper.post(seasonPath(f.one, "edit"), days).want(t, 422); !strings.Contains(got.Body, "stand in the permit") {
		t.Error(plainText(got.Body))
	}
	read := keeper.get("/permits").want(t, 200)
	if !strings.Contains(read.Body, "P-2") || strings.Contains(read.Body, "/permits/new") {
		t.Error(plainText(read.Body))
	}
	places := "/release-places"
	send(places, 422, "name", "upper  Bridge", "water", "Elm Brook")
	send(places, 303, "name", "Weir", "water", "Elm Brook", "coordinates", "45°30.50'N 063°15.0'W")
	if got := keeper.get("/permits").want(t, 200); !strings.Contains(got.Body, "45°30.50&#39;N 063°15.0&#39;W") {
		t.Error("the coordinates are not as they were entered")
	}
	f.program(logbook.Actor(f.keeper)).get("/permits").want(t, 200)
}
