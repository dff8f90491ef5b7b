package web

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestRandomEntriesLeaveASoundLogbook sends a thousand bodies drawn from good and
// bad values, as checks, events and deliveries, new ones, corrections and
// removals, by page and by JSON: none is a failure of the program, and the
// logbook passes its own check afterwards.
func TestRandomEntriesLeaveASoundLogbook(t *testing.T) {
	ts := newTestServer(t)
	rnd := rand.New(rand.NewPCG(7, 11))
	one := func(of ...string) string { return of[rnd.IntN(len(of))] }
	day := func() string {
		if rnd.IntN(20) == 0 {
			return one("", "0026-02-10", "9999-12-31", "2026-02-30", "soon")
		}
		return testToday.AddDays(-rnd.IntN(30)).String()
	}
	number := func() string {
		if rnd.IntN(5) > 0 {
			return one("6.5", "7", "1", "2", "0")
		}
		return one("7", "7.5", "0", "-0", "1e3", "40", "400", "99999999999", "NaN", "", strings.Repeat("9", 300))
	}
	page, json := ts.as(ts.keeper), ts.program(ts.keeper)
	path := seasonPath(ts.one, "")
	var checks, deliveries []string
	for _, d := range ts.load(ts.one).Deliveries {
		deliveries = append(deliveries, string(d.ID))
	}
	answers := map[int]int{}
	for i := range 1000 {
		revision := fmt.Sprint(1 + rnd.IntN(3))
		check := fields("on", day(), "slot", one("morning", "morning", "extra_1", "extra_2", "extra_3", "extra_9"),
			"temperature", number(), "dead_eggs", one("0", "1", "2", number()),
			"chiller", one("running", "running", "stopped", "x"), "note", one("", "seen", "\x00</script>"), "revision",
			revision, "reason", one("misread", "misread", "other", ""),
			"confirm", one("temperature", "dead_eggs", ""), "key", fmt.Sprint("k", rnd.IntN(900)))
		delivery := fields("on", day(), "count", number(), "method", one("by_hand", "x"), "note", one("", "moved"),
			"revision", revision,
			"reason", one("misread", ""))
		checks, deliveries = checks[:0], deliveries[:0]
		s := ts.load(ts.one)
		for _, c := range s.Checks {
			checks = append(checks, string(c.ID))
		}
		for _, d := range s.Deliveries {
			deliveries = append(deliveries, string(d.ID))
		}
		status := 0
		switch k := rnd.IntN(8); {
		case k < 3:
			status = page.post(path+"checks", check).Status
		case k == 3:
			body := fmt.Sprintf(`{"on":%q,"temperature":{"value":%s,"unit":"Cel"},"dead":{"eggs":%s}}`, day(),
				one("7", "-50", "1e400"), one("0", "3", "-1"))
			status = json.post(strings.TrimSuffix(path, "/")+"/checks", body).Status
		case k == 4 && len(checks) > 0:
			status = page.post("/checks/"+one(checks...)+"/"+one("correct", "void"), check).Status
		case k == 5 && len(deliveries) > 0:
			status = page.post("/deliveries/"+one(deliveries...)+"/"+one("correct", "correct", "void"), delivery).Status
		case k == 6:
			status = page.post(path+"deliveries", delivery).Status
		default:
			status = page.post(path+"events", fields("kind", one("water_change", "moved_out", "treatment", "x"), "on",
				day(), "count", number(),
				"litres", number(), "note", one("", "because"))).Status
		}
		answers[status]++
		if status >= 500 || status == 0 {
			t.Fatalf("body %d: status %d", i, status)
		}
	}
	if answers[303] < 50 || answers[422] < 50 {
		t.Errorf("too few were stored or refused to tell anything: %v", answers)
	}
	rep, err := ts.DB.Verify(t.Context(), ts.clockAt())
	if err != nil || !rep.OK() {
		t.Errorf("after %v: %+v, %v", answers, rep.Problems, err)
	}
	t.Log(answers, "warnings", len(rep.Warnings))
}
