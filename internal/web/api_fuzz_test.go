package web

import (
	"context"
	"encoding/json"
	"testing"

	"reddside/internal/api"
)

// Whatever is sent as a check: it is stored, or refused with a problem document
// that says why; the program never fails.
func FuzzCheckJSON(f *testing.F) {
	ts := newTestServer(f)
	ts.soundAtTheEnd(f)
	c := ts.program(ts.keeper)
	for _, s := range []string{morningCheck, `{}`, `{"on":"2026-02-10","temperature":{"value":1e400,"unit":"Cel"}}`,
		`{"on":"2026-02-10","dead":{"eggs":99999999999999999999}}`, `{"on":"9999-12-31","ph":7}`,
		`{"on":"2026-02-10","note":"\u0000</script>","ph":-0}`,
		`{"on":"2026-02-10","slot":"extra_4","confirm":["ph","ph"],"ph":9.9}`, `[{"on":1}]`,
		`{"on":"2026-02-10","on":null}`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, body string) {
		checkAnswerOf(t, c.post("/seasons/"+string(ts.one.ID)+"/checks", body), body)
	})
}

// soundAtTheEnd: whatever was sent, the logbook passes its own check afterwards.
func (ts *testServer) soundAtTheEnd(f *testing.F) {
	f.Cleanup(func() {
		rep, err := ts.DB.Verify(context.Background(), ts.clockAt())
		if err != nil || !rep.OK() {
			f.Errorf("after the run: %+v, %v", rep.Problems, err)
		}
	})
}

func FuzzForecastJSON(f *testing.F) {
	ts := newTestServer(f)
	c := ts.program(noActor)
	for _, op := range api.CalcOperations() {
		if op.Path == "/calc/forecast" {
			f.Add(op.Example)
		}
	}
	for _, s := range []string{`{"species":"pink","start_on":"2200-12-31","development_index":0,"daily_c":[0],"future_c":0}`,
		`{"species":"coho","start_on":"1900-01-01","thermal_units":3000,"mean_temperature_c":0.0001,"daily_c":[25]}`,
		`{"species":"chum","start_on":"2026-01-01","development_index":2,"daily_c":[null,null],"future_c":-1}`,
		`{"species":"sockeye","start_on":"2026-01-01","development_index":0.4,"daily_c":[7,7],"observed":[{"event":"hatch","after":"0001-01-01","on_or_before":"2026-01-02"}]}`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, body string) {
		checkAnswerOf(t, c.post("/calc/forecast", body), body)
	})
}

// checkAnswerOf accepts any answer but a failure of the program.
func checkAnswerOf(t *testing.T, p page, body string) {
	t.Helper()
	if p.Status >= 500 {
		t.Fatalf("status %d for %q: %s", p.Status, body, p.Body)
	}
	if !json.Valid([]byte(p.Body)) {
		t.Fatalf("the answer to %q is no JSON: %s", body, p.Body)
	}
	if p.Status >= 400 && p.str(t, "code") == "" {
		t.Fatalf("refused without a reason: %q: %s", body, p.Body)
	}
}
