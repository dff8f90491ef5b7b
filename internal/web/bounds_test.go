package web

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"reddside/internal/api"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/web/form"
)

// manyOf is a JSON list of the same item.
func manyOf(item string, n int) string {
	return "[" + strings.TrimSuffix(strings.Repeat(item+",", n), ",") + "]"
}

// A list that is too long, or wrong throughout, is refused with a short answer
// before any work is done on it.
func TestListsAreBounded(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper)
	dead := func(history string) string {
		return `{"at_risk":200,"stage":"alevin","today":{"days":1,"dead":0},"history":` + history + `}`
	}
	forecastOf := func(more string) string {
		return `{"species":"atlantic_salmon","start_on":"2026-01-01","development_index":0.5,` + more + `}`
	}
	samples := "/seasons/" + string(ts.one.ID) + "/samples"
	tooLong := []struct{ path, body, field string }{
		{"/calc/dead-count", dead(manyOf(`{"days":1,"dead":0}`, stats.MaxDays+1)), "history"},
		{"/calc/dead-count", dead(manyOf(`{"days":1,"dead":900000}`, 2000)), "history"},
		{"/calc/forecast", forecastOf(`"daily_c":` + manyOf("7", forecast.MaxDaily+1)), "daily_c"},
		{"/calc/forecast", forecastOf(`"future_c":7,"observed":` + manyOf(`{"event":"hatch"}`, forecast.MaxObserved+1)),
			"observed"},
		{samples, `{"on":"2026-02-09","weights_g":` + manyOf("1", logbook.MaxSampled+1) + `}`, "weights_g"},
		{"/seasons/" + string(ts.one.ID) + "/checks", `{"on":"2026-02-09","confirm":` + manyOf(`"ph"`, 1000) + `}`,
			"confirm"},
	}
	for _, x := range tooLong {
		c.post(x.path, x.body).wantProblem(t, 422, x.field, "api.too_many")
	}
	wrong := []struct{ path, body string }{
		{"/calc/dead-count", dead(manyOf(`{}`, stats.MaxDays))},
		{"/calc/forecast", forecastOf(`"daily_c":` + manyOf(`"x"`, forecast.MaxDaily))},
		{samples, `{"on":"2026-02-09","weights_g":` + manyOf(`"x"`, logbook.MaxSampled) + `}`},
	}
	for _, x := range wrong {
		p := c.post(x.path, x.body)
		if list, _ := p.field(t, "errors").([]any); p.Status != 422 || len(list) > 2*form.MaxNamed {
			t.Errorf("%s: status %d, %d problems in %d bytes", x.path, p.Status, len(list), len(p.Body))
		}
	}
	c.post("/calc/dead-count", dead(manyOf(`{"days":1,"dead":0}`, stats.MaxDays))).want(t, 200)
	c.post("/calc/dead-count", dead(manyOf(`{"days":1,"dead":0}`, 8000))).want(t, 413, "64 kB")
}

// A list of readings is bounded; what is sent in parts is the same.
func TestReadingsListIsBounded(t *testing.T) {
	ts := newTestServer(t)
	c, path := ts.program(ts.keeper), "/seasons/"+string(ts.one.ID)+"/readings?sensor=a"
	part := func(from, n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, `,{"at":"%s","temperature_c":7}`,
				testNow.AddDate(0, 0, -20).Add(time.Duration(from+i)*time.Minute).Format(time.RFC3339))
		}
		return "[" + b.String()[1:] + "]"
	}
	c.post(path, part(0, api.MaxReadings+1)).wantProblem(t, 422, "body", "api.too_many")
	c.post(path, part(0, 600)).want(t, 200, `"added":600,"known":0`)
	c.post(path, part(500, 600)).want(t, 200, `"added":500,"known":100`)
}

// Calculators take turns, and a calculator that waits for its body holds no turn.
func TestCalculatorsTakeTurns(t *testing.T) {
	ts := newTestServer(t)
	c, path := ts.program(noActor), "/calc/oxygen?temperature_c=5&altitude_m=0"
	for range cap(ts.Turns.Waiting) {
		ts.Turns.Waiting <- struct{}{}
	}
	p := c.get(path)
	p.wantProblem(t, 503, "", "calc.busy")
	if p.Header.Get("Retry-After") == "" {
		t.Error("nothing says when to try again")
	}
	<-ts.Turns.Waiting
	c.get(path).want(t, 200)
	ts.as(noActor).get("/calculators/oxygen").want(t, 200)
}

// A slip in the year of the release days is asked about by every way in.
func TestReleaseDaysAreBounded(t *testing.T) {
	ts := newTestServer(t)
	b, c, path := ts.as(ts.coordinator), ts.program(ts.coordinator), pathOf(ts.one)
	edit := fields("label", "2025-26", "release_from", "2026-05-01", "release_by", "9999-12-31", "revision",
		fmt.Sprint(ts.one.Edits))
	b.post(path+"/edit", edit).want(t, 422, "Is the year right?", "9999-12-31")
	c = c.with("If-Match", fmt.Sprintf("%q", fmt.Sprint(ts.one.Edits)))
	for field, day := range map[string]string{"release_by": "2062-12-31", "release_from": "1988-05-01"} {
		c.send("PATCH", path, `{"`+field+`":"`+day+`","reason":"permit"}`).wantProblem(t, 422, field,
			"season.release_far")
	}
	edit.Set("release_by", "2026-06-30")
	b.post(path+"/edit", edit).want(t, 303)
}
