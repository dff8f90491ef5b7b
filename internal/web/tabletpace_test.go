package web

import (
	"fmt"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"

	"reddside/internal/web/req"
	"reddside/internal/web/school"
)

// tryFrom sends a wrong or right code from an address, as a new browser.
func (ts *testServer) tryFrom(address, code string) int {
	req := newPost("/pair", fields("code", code))
	req.Host, req.RemoteAddr = "localhost", address+":50000"
	return record(ts, req).Code
}

// One address with a whole school behind it: mistyping slows it down, and never
// keeps the right code out for longer than a place takes to come free. Paired
// tablets and other addresses notice nothing.
func TestGuessingCodesIsSlow(t *testing.T) {
	ts := newTestServer(t)
	code, _, _ := ts.invite(ts.as(ts.keeper), "Room 12 tablet")
	paired := ts.pairedTablet(ts.alder.ID).browser()
	wrong := 0
	for i := range 200 {
		switch st := ts.tryFrom("192.0.2.50", fmt.Sprintf("AAAA%04d", i)); st {
		case 422:
			wrong++
		case 429:
		default:
			t.Fatalf("status %d", st)
		}
	}
	if wrong != school.PairAddressFree {
		t.Errorf("%d tries at once, want %d", wrong, school.PairAddressFree)
	}
	if st := ts.tryFrom("192.0.2.50", code); st != 429 {
		t.Errorf("the address goes on: %d", st)
	}
	paired.get("/today").want(t, 200)
	paired.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
	if st := ts.tryFrom("192.0.2.51", "AAAA9999"); st != 422 {
		t.Errorf("another address cannot try: %d", st)
	}
	ts.at(testNow.Add(school.PairAddressEvery))
	if st := ts.tryFrom("192.0.2.50", code); st != 303 {
		t.Errorf("the right code is refused after the wait: %d", st)
	}

	// Many addresses together: the tries of 15 minutes stay within what the
	// comment of pairpace.go reckons with.
	ts = newTestServer(t)
	wrong = 0
	for s := range 900 {
		ts.at(testNow.Add(time.Duration(s) * time.Second))
		for range 3 {
			if ts.tryFrom("198.51.100."+strconv.Itoa(s%250), "AAAA2222") == 422 {
				wrong++
			}
		}
	}
	if limit := school.PairAllFree + 900; wrong > limit || wrong < limit/2 {
		t.Errorf("%d tries in 15 minutes, want at most %d", wrong, limit)
	}
}

// A tablet that mistypes waits alone, longer each time.
func TestMistypingTabletWaitsAlone(t *testing.T) {
	ts := newTestServer(t)
	one, two := ts.as(noActor), ts.as(noActor)
	one.get("/pair")
	two.get("/pair")
	for range req.FreeTries {
		one.post("/pair", fields("code", "AAAABBBB")).want(t, 422)
	}
	one.post("/pair", fields("code", "AAAABBBB")).want(t, 429, "Too many tries")
	two.post("/pair", fields("code", "AAAABBBB")).want(t, 422)
	ts.at(testNow.Add(req.FirstWait))
	code, _, _ := ts.invite(ts.as(ts.keeper), "Room 12 tablet")
	one.post("/pair", fields("code", code)).want(t, 303)
}

// A bucket never lets more through than its free number and one per interval.
func TestPairPaceNeverExceeds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l, now, passed := school.NewPairPace(), testNow, 0
		for _, gap := range rapid.SliceOfN(rapid.IntRange(0, 4000), 1, 300).Draw(rt, "milliseconds") {
			now = now.Add(time.Duration(gap) * time.Millisecond)
			wait := l.Try("a", now)
			if wait == 0 {
				passed++
			} else if wait > school.PairAddressEvery {
				rt.Fatalf("a wait of %v", wait)
			}
		}
		if limit := school.PairAddressFree + int(now.Sub(testNow)/school.PairAddressEvery) + 1; passed > limit {
			rt.Fatalf("%d passed, at most %d", passed, limit)
		}
	})
}
