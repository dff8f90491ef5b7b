package web

import (
	"context"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/req"
)

const rightPassphrase = "seven invented salmon"

// account makes a keeper who signs in with rightPassphrase.
func (ts *testServer) account(label string) store.Account {
	ts.t.Helper()
	hash, err := argon2id.CreateHash(rightPassphrase, &argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1,
		SaltLength: 16, KeyLength: 32})
	ts.must(err)
	a, err := ts.DB.CreateAccount(context.Background(), store.Account{Role: logbook.Keeper, SiteID: ts.alder.ID,
		Label: label, PassphraseHash: hash}, testNow)
	ts.must(err)
	return a
}

func (b *browser) signInAs(account, passphrase string) page {
	return b.post("/sign-in", fields("account", account, "passphrase", passphrase))
}

// Accounts that are not there take no memory.
func TestWrongAccountsTakeNoMemory(t *testing.T) {
	ts := newTestServer(t)
	used := func() int64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	before, b := used(), ts.as(noActor)
	for i := range 3000 {
		b.signInAs(fmt.Sprint(i)+strings.Repeat("x", 250_000), "wrong").want(t, 422)
	}
	grown := used() - before
	t.Logf("3,000 wrong sign-ins: %+.1f MB", float64(grown)/1e6)
	if grown > 10e6 {
		t.Errorf("memory grew by %d bytes", grown)
	}
}

// A count stands until its time is over, whatever else is tried meanwhile, and a
// browser in which the account signed in before has tries of its own.
func TestTriesOfAnAccount(t *testing.T) {
	ts := newTestServer(t)
	acc := ts.account("Keeper, Room 12").Label
	own, stranger := ts.as(noActor), ts.as(noActor)
	own.signInAs(acc, rightPassphrase).want(t, 303)
	for range req.FreeTries {
		stranger.signInAs(acc, "wrong").want(t, 422)
	}
	stranger.signInAs(acc, rightPassphrase).want(t, 429)
	for i := range 100 {
		stranger.signInAs(fmt.Sprintf("Nobody %d", i), "wrong").want(t, 422)
	}
	stranger.signInAs(acc, rightPassphrase).want(t, 429)
	own.signInAs(acc, rightPassphrase).want(t, 303)
	stranger.signInAs(acc, rightPassphrase).want(t, 429)
	// The known browser's own tries are counted as well.
	for range req.FreeTries {
		own.signInAs(acc, "wrong").want(t, 422)
	}
	own.signInAs(acc, rightPassphrase).want(t, 429)
	// Another account's browser is a stranger's here.
	other := ts.as(noActor)
	other.signInAs(ts.account("Keeper, Room 14").Label, rightPassphrase).want(t, 303)
	other.signInAs(acc, rightPassphrase).want(t, 429)
	ts.at(testNow.Add(req.MaxWait))
	stranger.signInAs(acc, rightPassphrase).want(t, 303)
}

// The page names nobody but who signed in in this browser; a name may be typed in
// any case, and one that nobody has is answered, counted and delayed as one that
// somebody has.
func TestSignInNamesNobody(t *testing.T) {
	ts := newTestServer(t)
	acc := ts.account("Keeper, Room 12")
	ts.account("Keeper, Room 14")
	own, stranger := ts.as(noActor), ts.as(noActor)
	stranger.get("/sign-in").want(t, 200).lacks(t, "Keeper, Room", string(acc.ID))
	wrong := stranger.signInAs("keeper,  room 12", "wrong").want(t, 422, "The name or the passphrase does not fit")
	unknown := stranger.signInAs("keeper,  room 99", "wrong").want(t, 422)
	if a, b := strings.ReplaceAll(wrong.Body, "room 12", "room 99"), unknown.Body; a != b {
		t.Error("the answer to a name that nobody has differs")
	}
	for range req.FreeTries - 1 {
		stranger.signInAs("keeper,  room 99", "wrong").want(t, 422)
	}
	stranger.signInAs("keeper,  room 99", "wrong").want(t, 429)
	own.signInAs(" keeper,  ROOM 12 ", rightPassphrase).want(t, 303)
	own.post("/sign-out", fields())
	own.get("/sign-in").want(t, 200, `value="Keeper, Room 12"`).lacks(t, "Room 14")
	stranger.signInAs("", "x").want(t, 422, "Enter a name")
}

// Counts end, but not before their time.
func TestLimiterForgetsInTime(t *testing.T) {
	l := req.NewLimiter(req.RememberAccount)
	for range req.FreeTries {
		l.Try("a", testNow)
	}
	for i := range 20_000 {
		l.Try(fmt.Sprint(i), testNow)
	}
	if l.Try("a", testNow.Add(req.RememberAccount-time.Minute)); l.Wrong["a"].N != req.FreeTries+1 {
		t.Errorf("count %d", l.Wrong["a"].N)
	}
	l.Try("b", testNow.Add(req.RememberAccount*5/4))
	if n := len(l.Wrong); n != 2 {
		t.Errorf("%d counts are remembered", n)
	}
}
