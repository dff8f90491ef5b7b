package store

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

const someHash = "$argon2id$v=19$m=65536,t=3,p=2$c2FsdHNhbHQ$aGFzaA"

var (
	_ scs.Store    = (*Sessions)(nil)
	_ scs.CtxStore = (*Sessions)(nil)
)

func TestSessions(t *testing.T) {
	p, ctx := plant(t), t.Context()
	now := noon
	s := p.Sessions(func() time.Time { return now })
	if err := s.CommitCtx(ctx, "secret-token", []byte{0, 1, 2}, noon.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if err := s.CommitCtx(ctx, "secret-token", []byte{3, 4}, noon.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if b, found, err := s.FindCtx(ctx, "secret-token"); err != nil || !found || string(b) != "\x03\x04" {
		t.Errorf("found %v %v %v", b, found, err)
	}
	if n := p.count(t, "SELECT count(*) FROM session WHERE token_hash LIKE '%secret%'"); n != 0 {
		t.Error("the token itself is stored")
	}
	now = noon.Add(time.Hour)
	if _, found, err := s.FindCtx(ctx, "secret-token"); err != nil || found {
		t.Errorf("an expired session is found, %v", err)
	}
	now = noon
	if err := s.Delete("secret-token"); err != nil {
		t.Fatal(err)
	}
	if _, found, _ := s.Find("secret-token"); found {
		t.Error("a deleted session is found")
	}
	if err := s.Delete("never there"); err != nil {
		t.Error(err)
	}
}

func TestSetup(t *testing.T) {
	d, ctx := open(t, t.TempDir()), t.Context()
	if err := d.StartSetup(ctx, HashToken("code 1"), noon); err != nil {
		t.Fatal(err)
	}
	if err := d.SaveSetup(ctx, "language", json.RawMessage(`{"language":"fr"}`), noon); err != nil {
		t.Fatal(err)
	}
	if err := d.StartSetup(ctx, HashToken("code 2"), noon); err != nil { // the program was started again
		t.Fatal(err)
	}
	s, err := d.Setup(ctx)
	if err != nil || s.CodeHash != HashToken("code 2") || s.Step != "language" ||
		string(s.Data) != `{"language":"fr"}` {
		t.Errorf("draft %+v, %v", s, err)
	}
	prog, acc, err := d.FoundProgramme(ctx, logbook.Programme{Name: "P", Language: "fr", TemperatureUnit: units.Cel},
		Account{Label: "Coordinator", PassphraseHash: someHash}, noon)
	if err != nil || acc.Role != logbook.Coordinator {
		t.Fatal(acc, err)
	}
	if s, err := d.Setup(ctx); err != nil || s.CodeHash != "" || s.Step != "language" {
		t.Errorf("after founding: %+v, %v", s, err)
	}
	wantKey(t, d.StartSetup(ctx, "x", noon), logbook.Conflict, "error.programme.exists")
	_, _, err = d.FoundProgramme(ctx, logbook.Programme{Name: "Q"}, Account{Label: "C", PassphraseHash: someHash}, noon)
	wantKey(t, err, logbook.Conflict, "error.programme.exists")
	if list, err := d.Accounts(ctx); err != nil || len(list) != 1 {
		t.Errorf("accounts %v, %v", list, err)
	}
	prog.Name = "P2"
	if prog, err = d.UpdateProgramme(ctx, acc.Actor(), prog, noon); err != nil || prog.Revision != 2 {
		t.Errorf("programme %+v, %v", prog, err)
	}
	prog.Revision = 1
	_, err = d.UpdateProgramme(ctx, acc.Actor(), prog, noon)
	wantKey(t, err, logbook.Conflict, "error.stale")
	if err := d.EndSetup(ctx); err != nil {
		t.Fatal(err)
	}
	_, err = d.Setup(ctx)
	wantKey(t, err, logbook.NotFound, "error.not_found")
}

func TestAccounts(t *testing.T) {
	p, ctx := plant(t), t.Context()
	a, err := p.CreateAccount(ctx, Account{Role: logbook.Keeper, SiteID: p.site.ID, Label: "Keeper",
		PassphraseHash: someHash}, noon)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.DisableAccount(ctx, a.ID, true); err != nil {
		t.Fatal(err)
	}
	if err := p.SetPassphrase(ctx, a.ID, someHash+"x"); err != nil {
		t.Fatal(err)
	}
	if got, err := p.Account(ctx, a.ID); err != nil || !got.Disabled || got.Revision != 3 ||
		got.PassphraseHash != someHash+"x" {
		t.Errorf("account %+v, %v", got, err)
	}
	wantKey(t, p.DisableAccount(ctx, logbook.NewID(), true), logbook.NotFound, "error.not_found")
	for _, bad := range []Account{
		{Role: logbook.Class, SiteID: p.site.ID, PassphraseHash: someHash},
		{Role: logbook.Keeper, PassphraseHash: someHash},
		{Role: logbook.Keeper, SiteID: p.site.ID, PassphraseHash: "plain words"},
		{Role: logbook.Coordinator, SiteID: p.site.ID, PassphraseHash: someHash},
	} {
		if _, err := p.CreateAccount(ctx, bad, noon); err == nil {
			t.Errorf("stored %+v", bad)
		}
	}
}

func TestDevices(t *testing.T) {
	p, ctx := plant(t), t.Context()
	until := noon.AddDate(0, 6, 0)
	v, err := p.InviteDevice(ctx, coordinator, Device{SiteID: p.site.ID, Label: "Room 4", ExpiresAt: until},
		HashToken("1234"), noon.Add(10*time.Minute), noon)
	if err != nil {
		t.Fatal(err)
	}
	_, err = p.PairDevice(ctx, HashToken("0000"), HashToken("t"), "192.0.2.7:8080", noon)
	wantKey(t, err, logbook.NotFound, "error.pair_code")
	_, err = p.PairDevice(ctx, HashToken("1234"), HashToken("t"), "192.0.2.7:8080", noon.Add(10*time.Minute))
	wantKey(t, err, logbook.NotFound, "error.pair_code")
	got, err := p.PairDevice(ctx, HashToken("1234"), HashToken("t"), "192.0.2.7:8080", noon)
	if err != nil || got.ID != v.ID || got.Actor().SiteID != p.site.ID {
		t.Fatalf("paired %+v, %v", got, err)
	}
	_, err = p.PairDevice(ctx, HashToken("1234"), HashToken("t2"), "192.0.2.7:8080", noon)
	wantKey(t, err, logbook.NotFound, "error.pair_code")
	if got, err := p.DeviceByToken(ctx, HashToken("t"), noon); err != nil || got.ID != v.ID {
		t.Errorf("by token %+v, %v", got, err)
	}
	_, err = p.DeviceByToken(ctx, HashToken("t"), until)
	wantKey(t, err, logbook.NotFound, "error.not_found")
	wantKey(t, p.RevokeDevice(ctx, logbook.Actor{Role: logbook.Keeper, SiteID: logbook.NewID()}, v.ID, noon),
		logbook.NotFound, "error.not_found")
	if err := p.RevokeDevice(ctx, coordinator, v.ID, noon); err != nil {
		t.Fatal(err)
	}
	_, err = p.DeviceByToken(ctx, HashToken("t"), noon)
	wantKey(t, err, logbook.NotFound, "error.not_found")
	if list, err := p.Devices(ctx, p.site.ID); err != nil || len(list) != 1 || list[0].RevokedAt.IsZero() {
		t.Errorf("devices %+v, %v", list, err)
	}
}

func TestTokensAndKeptPosts(t *testing.T) {
	p, ctx := plant(t), t.Context()
	tok, err := p.CreateToken(ctx, Token{Role: logbook.Keeper, SiteID: p.site.ID, Label: "script",
		ExpiresAt: noon.AddDate(1, 0, 0)}, HashToken("s"), noon)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := p.TokenByHash(ctx, HashToken("s"), noon); err != nil || got != tok {
		t.Errorf("token %+v, %v; want %+v", got, err, tok)
	}
	if err := p.RevokeToken(ctx, tok.ID, noon); err != nil {
		t.Fatal(err)
	}
	_, err = p.TokenByHash(ctx, HashToken("s"), noon)
	wantKey(t, err, logbook.NotFound, "error.not_found")

	body := "temperature=7,5&note=" + strings.Repeat("x", 1000)
	keep := func(owner, path string) error {
		return p.AddPending(ctx, PendingSubmission{Owner: owner, Path: path, Body: body,
			ExpiresAt: noon.Add(time.Hour)}, noon)
	}
	waits := func(owner string, at time.Time) []PendingSubmission {
		t.Helper()
		list, err := p.PendingSubmissions(ctx, owner, at)
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	for range 2 { // sent twice, it waits once
		if err := keep("a", "/seasons/x/checks"); err != nil {
			t.Fatal(err)
		}
	}
	got := waits("a", noon)
	if len(got) != 1 || got[0].Body != body || len(waits("b", noon)) != 0 || len(waits("a", noon.Add(time.Hour))) != 0 {
		t.Fatalf("kept %+v", got)
	}
	if err := p.ForgetPost(ctx, "b", got[0].ID); err != nil || len(waits("a", noon)) != 1 {
		t.Fatal("another owner threw it away", err)
	}
	// Whoever fills their own places leaves those of others.
	for i := 1; i < MaxPending; i++ {
		if err := keep("a", fmt.Sprintf("/seasons/%d/checks", i)); err != nil {
			t.Fatal(err)
		}
	}
	wantKey(t, keep("a", "/seasons/y/checks"), logbook.Unavailable, "error.busy")
	if err := keep("b", "/seasons/y/checks"); err != nil {
		t.Error(err)
	}
	if err := p.ForgetPost(ctx, "a", got[0].ID); err != nil || len(waits("a", noon)) != MaxPending-1 {
		t.Error("not forgotten", err)
	}

	for i := range maxBrowsers + 1 {
		if err := p.KnowBrowser(ctx, HashToken(fmt.Sprint(i)), "a", noon.Add(time.Hour),
			noon.Add(time.Duration(i)*time.Second)); err != nil {
			t.Fatal(err)
		}
	}
	for i, want := range map[int]string{0: "", 1: "a", maxBrowsers: "a"} {
		if owner, err := p.BrowserOwner(ctx, HashToken(fmt.Sprint(i)), noon); err != nil || owner != want {
			t.Errorf("browser %d is of %q, %v", i, owner, err)
		}
	}
}

func TestThresholds(t *testing.T) {
	p, ctx := plant(t), t.Context()
	v := Threshold{Key: "temperature.high", Species: logbook.AtlanticSalmon, Stage: logbook.Alevin,
		Value: units.Some(9.5)}
	first, err := p.SetThreshold(ctx, coordinator, v, "warm spring", noon, nil)
	if err != nil {
		t.Fatal(err)
	}
	_, err = p.SetThreshold(ctx, coordinator, v, "again", noon, nil) // from the stock value, which it is not any more
	wantKey(t, err, logbook.Conflict, "error.stale")
	first.Value = units.None[float64]()
	if _, err := p.SetThreshold(ctx, coordinator, first, "back to stock", noon, nil); err != nil {
		t.Fatal(err)
	}
	_, err = p.SetThreshold(ctx, logbook.Actor{Role: logbook.Keeper, SiteID: p.site.ID}, v, "why", noon, nil)
	wantKey(t, err, logbook.Forbidden, "error.coordinator_only")
	list, rev, err := p.Thresholds(ctx)
	if err != nil || len(list) != 1 || list[0].Value.OK || rev != 2 {
		t.Errorf("thresholds %+v, revision %d, %v", list, rev, err)
	}
	if past, err := p.RowHistory(ctx, first.ID); err != nil || len(past) != 1 || past[0].Reason != "back to stock" {
		t.Errorf("history %+v, %v", past, err)
	}
}

// Of several limits all are stored or none: not after a stale one, and not when
// the whole is refused.
func TestSetThresholdsAllOrNone(t *testing.T) {
	p, ctx := plant(t), t.Context()
	one, two := Threshold{Key: "one", Value: units.Some(1.0)}, Threshold{Key: "two", Value: units.Some(2.0)}
	old, err := p.SetThreshold(ctx, coordinator, two, "why", noon, nil)
	if err != nil {
		t.Fatal(err)
	}
	// two is not the stock one any more
	_, err = p.SetThresholds(ctx, coordinator, []Threshold{one, two}, "why", noon, nil)
	wantKey(t, err, logbook.Conflict, "error.stale")
	old.Value = units.Some(3.0)
	var seen []Threshold
	_, err = p.SetThresholds(ctx, coordinator, []Threshold{one, old}, "why", noon, func(all []Threshold) error {
		seen = all
		return logbook.Errorf(logbook.Invalid, "test.refused", nil)
	})
	wantKey(t, err, logbook.Invalid, "test.refused")
	if len(seen) != 2 || seen[0].Value.V != 1 || seen[1].Value.V != 3 {
		t.Errorf("the check saw %+v", seen)
	}
	if list, rev, err := p.Thresholds(ctx); err != nil || len(list) != 1 || list[0].Value.V != 2 || rev != 1 {
		t.Fatalf("half stored: %+v, revision %d, %v", list, rev, err)
	}
	out, err := p.SetThresholds(ctx, coordinator, []Threshold{one, old}, "why", noon,
		func([]Threshold) error { return nil })
	if err != nil || len(out) != 2 || out[0].Revision != 1 || out[1].Revision != 2 {
		t.Errorf("stored %+v, %v", out, err)
	}
}

func TestSitesTanksLotsSeasons(t *testing.T) {
	p, ctx := plant(t), t.Context()
	keeper := logbook.Actor{Role: logbook.Keeper, SiteID: p.site.ID, Label: "Keeper"}
	_, err := p.CreateSite(ctx, keeper, logbook.Site{Name: "X", Zone: "UTC", TemperatureUnit: units.Cel}, noon,
		IdempotencyKey{})
	wantKey(t, err, logbook.Forbidden, "error.coordinator_only")
	before := p.season.Revision
	site := p.site
	site.Zone = "America/St_Johns"
	if site, err = p.UpdateSite(ctx, keeper, site, noon); err != nil || site.Revision != 2 {
		t.Fatal(site, err)
	}
	tank := p.tank
	tank.Setpoint = units.None[units.Celsius]()
	if tank, err = p.UpdateTank(ctx, keeper, tank, noon); err != nil || tank.Revision != 2 {
		t.Fatal(tank, err)
	}
	_, err = p.UpdateTank(ctx, keeper, p.tank, noon)
	wantKey(t, err, logbook.Conflict, "error.stale")
	lot := p.season.Lot
	lot.Note = "n"
	if lot, err = p.UpdateLot(ctx, keeper, lot, noon); err != nil || lot.Edits != 2 || lot.Note != "n" {
		t.Fatal(lot, err)
	}
	p.reload(t)
	if p.season.Revision != before+3 || p.season.Site != site || p.season.Tank != tank || p.season.Lot != lot {
		t.Errorf("season %+v", p.season)
	}
	_, err = p.CreateSeason(ctx, keeper, logbook.Season{Label: "again", Tank: p.tank, Lot: p.lot}, noon,
		IdempotencyKey{})
	wantKey(t, err, logbook.Conflict, "error.season.open")
	s := *p.season
	s.ClosedOn = day
	closed, err := p.UpdateSeason(ctx, keeper, s, noon)
	if err != nil || closed.ClosedOn != day || closed.Edits != 2 {
		t.Fatal(closed, err)
	}
	second, err := p.CreateSeason(ctx, keeper, logbook.Season{Label: "again", Tank: p.tank, Lot: p.lot}, noon,
		IdempotencyKey{})
	if err != nil {
		t.Fatal(err)
	}
	closed.ClosedOn = second.ClosedOn // open again: refused
	_, err = p.UpdateSeason(ctx, keeper, *closed, noon)
	wantKey(t, err, logbook.Conflict, "error.season.open")
	stranger := logbook.Actor{Role: logbook.Keeper, SiteID: logbook.NewID()}
	_, err = p.UpdateSeason(ctx, stranger, *closed, noon)
	wantKey(t, err, logbook.NotFound, "error.not_found")
	for _, f := range []struct {
		f SeasonFilter
		n int
	}{{SeasonFilter{}, 2}, {SeasonFilter{OpenOnly: true}, 1}, {SeasonFilter{LotID: p.lot.ID}, 2},
		{SeasonFilter{SiteID: logbook.NewID()}, 0}, {SeasonFilter{TankID: p.tank.ID}, 2}} {
		if heads, err := p.SeasonHeads(ctx, f.f); err != nil || len(heads) != f.n {
			t.Errorf("%+v: %d seasons, %v", f.f, len(heads), err)
		}
	}
	span, err := p.CreateClosedSpan(ctx, keeper, p.site.ID, logbook.ClosedSpan{From: day, To: day.AddDays(2),
		Reason: "storm"}, noon, IdempotencyKey{})
	if err != nil {
		t.Fatal(err)
	}
	span.To = day
	if span, err = p.UpdateClosedSpan(ctx, keeper, span, false, "opened early", noon); err != nil ||
		span.Revision != 2 {
		t.Fatal(span, err)
	}
	if _, err = p.UpdateClosedSpan(ctx, keeper, span, true, "other site", noon); err != nil {
		t.Fatal(err)
	}
	if list, err := p.ClosedSpans(ctx, p.site.ID); err != nil || len(list) != 0 {
		t.Errorf("closed days %v, %v", list, err)
	}
}
