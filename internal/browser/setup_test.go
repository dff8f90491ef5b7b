package browser

import (
	"context"
	"testing"

	"reddside/internal/store"
	"reddside/internal/web/school"
)

const passphrase = "seven brown trout in a brook"

// setUp goes from the code on the console to the first delivery.
func setUp(t *testing.T, s *site, b *tab) {
	t.Helper()
	code, err := school.NewSetupCode(context.Background(), s.db, s.opts.Clock())
	if err != nil {
		t.Fatal(err)
	}
	b.open("/")
	if p := b.path(); p != "/setup" {
		t.Fatalf("a fresh logbook starts at %s, want /setup", p)
	}
	b.fill("setup_code", "AAAA-AAAA")
	b.clickFor(422, "main form button.primary")
	b.wantSummary()
	b.fill("setup_code", code)
	b.click("main form button.primary")

	b.fill("name", "Fry for the Testing Brook")
	b.choose("language", "en")
	b.choose("temperature_unit", "Cel")
	b.fill("passphrase", "short")
	b.fill("again", "short")
	b.clickFor(422, "main form button.primary")
	b.wantSummary()
	if v := b.value("name"); v != "Fry for the Testing Brook" {
		t.Errorf("the name of the programme is lost: %q", v)
	}
	b.fill("passphrase", passphrase)
	b.fill("again", passphrase)
	b.click("main form button.primary")

	b.fill("name", "Willow Bend School")
	b.choose("zone", "America/Halifax")
	b.choose("language", "en")
	b.choose("temperature_unit", "Cel")
	b.click("main form button.primary")

	b.open("/board") // left, and taken up again
	b.open("/setup")
	b.fill("name", "Room 7")
	b.fill("volume_l", "190")
	b.choose("volume_unit", "L")
	b.choose("wall", "insulated")
	b.press(`label:has(#has_chiller)`)
	b.press(`label:has(#has_air_pump)`)
	b.fill("setpoint", "6,5")
	b.click("main form button.primary")

	b.fill("code", "T-1")
	b.choose("species", "atlantic_salmon")
	b.fill("fertilised_on", "2025-11-05")
	b.click("main form button.primary")

	b.fill("on", "2026-02-09")
	b.fill("count", "180")
	b.choose("method", "by_hand")
	b.choose("stage", "eyed_egg")
	b.fill("thermal_units", "300")
	b.choose("thermal_units_in", "Cel")
	b.click("main form button.primary")
}

// TestFirstSetUpIsShort: from an empty logbook to the first check no more than twelve
// fields are to be filled in, and each step leads to the next.
func TestFirstSetUpIsShort(t *testing.T) {
	t.Parallel()
	s := emptySite(t)
	b := newTab(t, s.base)
	code, err := school.NewSetupCode(context.Background(), s.db, s.opts.Clock())
	if err != nil {
		t.Fatal(err)
	}
	b.open("/")
	fields := 0
	fill := func(name, value string) { t.Helper(); fields++; b.fill(name, value) }
	choose := func(name, value string) { t.Helper(); fields++; b.choose(name, value) }
	next := func() { t.Helper(); b.click("main form button.primary") }
	fill("setup_code", code)
	next()
	fill("name", "Fry for the Testing Brook")
	fill("passphrase", passphrase)
	fill("again", passphrase)
	next()
	fill("name", "Willow Bend School")
	if b.value("zone") == "" { // this machine has no named zone
		choose("zone", "America/Halifax")
	}
	next()
	fill("name", "Room 7")
	fill("volume_l", "190")
	choose("wall", "insulated")
	next()
	choose("species", "atlantic_salmon")
	next()
	fill("count", "180")
	choose("method", "by_hand")
	next()
	if fields > 12 {
		t.Errorf("%d fields before the first check, at most 12", fields)
	}
	if n := b.count(".next-steps a"); n != 4 {
		t.Errorf("%d next steps after the set-up, want 4: %s", n, b.text())
	}
	tank := b.path()
	b.click(`.next-steps a[href^="/people/new"]`)
	if b.value("role") != "keeper" || b.value("site") == "" {
		t.Error("the sign-in of the keeper is not prepared")
	}
	b.fill("label", "Keeper of the library")
	b.fill("passphrase", passphrase)
	b.fill("again", passphrase)
	next()
	b.open(tank)
	if n := b.count(".next-steps a"); n != 3 {
		t.Errorf("%d next steps are left, want 3", n)
	}
	b.click(`.next-steps a[href$="/tablets"]`)
	b.open(tank)
	b.click(`.next-steps a[href$="/checks/new"]`)
	b.fill("temperature", "6.4")
	b.click(saveButton)
	b.wantStored()
}

func TestSetUp(t *testing.T) {
	t.Parallel()
	s := emptySite(t)
	b := newTab(t, s.base)
	setUp(t, s, b)
	b.says("Room 7", "Willow Bend School")
	heads, err := s.db.SeasonHeads(context.Background(), store.SeasonFilter{OpenOnly: true})
	if err != nil || len(heads) != 1 {
		t.Fatalf("%d seasons, want 1: %v", len(heads), err)
	}
	season, err := s.db.LoadSeason(context.Background(), heads[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	if sp, _ := season.Tank.Setpoint.Get(); sp != 6.5 {
		t.Errorf("setpoint %v, want 6.5", sp)
	}
	if len(season.Deliveries) != 1 || season.Deliveries[0].Count != 180 {
		t.Errorf("deliveries %+v", season.Deliveries)
	}
	// From here to the first check.
	b.click(`a[href="` + seasonPath(season, "/checks/new") + `"]`)
	b.fill("temperature", "6.4")
	b.choose("chiller", "running")
	b.click(saveButton)
	b.wantStored()
}

// TestSignIn signs in with a wrong and the right passphrase, under a name that
// the browser does not trust, as on a school network without https.
func TestSignInOnANetwork(t *testing.T) {
	t.Parallel()
	s := emptySite(t)
	b := newTab(t, s.lan())
	setUp(t, s, b)
	if eval[bool](b, `window.isSecureContext`) {
		t.Error("the browser trusts this address: the test does not show a network without https")
	}
	form := b.path() + "/checks/new"
	b.click(`form[action="/sign-out"] button`)
	b.fill("passphrase", "seven brown trout in a creek")
	b.clickFor(422, "main form button.primary")
	b.wantSummary()
	b.fill("passphrase", passphrase)
	b.click("main form button.primary")
	if p := b.path(); p != "/board" {
		t.Errorf("after sign-in at %s, want /board", p)
	}

	// The session ends while somebody types: the entry waits, and is stored after
	// sign-in, when its owner says so.
	b.open(form)
	b.fill("temperature", "6.7")
	b.choose("chiller", "running")
	b.fill("note", "Typed before the session ended.")
	b.forgetSession()
	b.saveUnsigned()
	if b.count(`.notice[role="status"]`) == 0 {
		t.Error("nothing says that the entry is kept")
	}
	b.fill("passphrase", passphrase)
	b.click("main form button.primary")
	b.click(`main button[value="save"]`)
	b.wantStored()
	b.says("6.7\u00a0°C", "Typed before the session ended.")
}
