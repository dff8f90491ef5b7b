package web

import (
	"strings"
	"sync"
	"testing"
)

// Fifty equal entries at once store one row, and every one of them is told the
// same (requirement O5).
func TestAPIFiftyEqualPostsAtOnce(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper).with("Idempotency-Key", "2f9a5c7e-once")
	for _, x := range []struct{ path, body, list string }{
		{"/checks", morningCheck, "checks"},
		{"/events", `{"kind":"sample_taken","on":"2026-02-10","count":3}`, "events"},
	} {
		path := "/seasons/" + string(ts.one.ID)
		answers := make([]page, 50)
		var wg sync.WaitGroup
		for i := range answers {
			wg.Go(func() { answers[i] = c.post(path+x.path, x.body) })
		}
		wg.Wait()
		for i, a := range answers {
			if a.Status != 201 || a.Body != answers[0].Body {
				t.Fatalf("%s, answer %d: %d %s\nfirst: %s", x.path, i, a.Status, a.Body, answers[0].Body)
			}
		}
		if n := len(c.get(path).want(t, 200).field(t, x.list).([]any)); n != 1 {
			t.Errorf("%d %s stored", n, x.list)
		}
		c = c.with("Idempotency-Key", "2f9a5c7e-next")
	}
}

func TestAPIKeys(t *testing.T) {
	ts := newTestServer(t)
	path := "/seasons/" + string(ts.one.ID) + "/checks"
	c := ts.program(ts.keeper).with("Idempotency-Key", `"quoted-key-1"`)
	first := c.post(path, morningCheck).want(t, 201)
	c.post(path, strings.Replace(morningCheck, "7.2", "7.3", 1)).wantProblem(t, 422, "", "error.idempotency.mismatch")
	// White space and order are not content.
	again := c.with("Idempotency-Key", "quoted-key-1").post(path, strings.ReplaceAll(morningCheck, ",",
		" ,\n ")).want(t, 201)
	if again.Body != first.Body {
		t.Errorf("repeated answer %s, first %s", again.Body, first.Body)
	}
	// Weeks later the entry would be judged otherwise; the answer is the same.
	ts.at(testNow.AddDate(0, 0, 20))
	c.post(path, morningCheck).want(t, 201)
	c.with("Idempotency-Key", "").post(path, morningCheck).wantProblem(t, 422, "Idempotency-Key", "api.key")

	boss := ts.program(ts.coordinator).with("Idempotency-Key", "lot-1")
	lot := `{"code":"L9","species":"coho"}`
	a, b := boss.post("/lots", lot).want(t, 201), boss.post("/lots", lot).want(t, 201)
	if a.Body != b.Body {
		t.Errorf("two lots for one key: %s %s", a.Body, b.Body)
	}
}
