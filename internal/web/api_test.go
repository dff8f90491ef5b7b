package web

import (
	"encoding/json"
	"net/http/httptest"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// client is a program with a token; a zero actor has none.
type client struct {
	ts     *testServer
	token  string
	header map[string]string
}

// program makes a token of an actor, as the command line does.
func (ts *testServer) program(a logbook.Actor) *client {
	ts.t.Helper()
	c := &client{ts: ts, header: map[string]string{}}
	if !a.Role.Valid() {
		return c
	}
	c.token = strings.ToLower(string(logbook.NewID()))
	_, err := ts.DB.CreateToken(ts.t.Context(), store.Token{Role: a.Role, SiteID: a.SiteID, Label: a.Label,
		ExpiresAt: testNow.AddDate(1, 0, 0)},
		store.HashToken(c.token), testNow)
	ts.must(err)
	return c
}

// with returns the client with one more header.
func (c *client) with(name, value string) *client {
	d := &client{ts: c.ts, token: c.token, header: map[string]string{name: value}}
	for k, v := range c.header {
		if k != name {
			d.header[k] = v
		}
	}
	return d
}

func (c *client) send(method, path, body string) page {
	r := httptest.NewRequest(method, "/api/v1"+path, strings.NewReader(body))
	r.Host = "localhost"
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	for k, v := range c.header {
		r.Header.Set(k, v)
	}
	w := httptest.NewRecorder()
	c.ts.ServeHTTP(w, r)
	return page{Status: w.Code, Body: w.Body.String(), Location: w.Header().Get("Location"), Header: w.Header()}
}

func (c *client) get(path string) page        { return c.send("GET", path, "") }
func (c *client) post(path, body string) page { return c.send("POST", path, body) }

// field looks a value up in the JSON of an answer by names and positions.
func (p page) field(t testing.TB, path ...any) any {
	t.Helper()
	var v any
	if err := json.Unmarshal([]byte(p.Body), &v); err != nil {
		t.Fatalf("answer is no JSON: %v: %s", err, p.Body)
	}
	for _, k := range path {
		switch k := k.(type) {
		case string:
			m, ok := v.(map[string]any)
			if !ok || m[k] == nil {
				return nil
			}
			v = m[k]
		case int:
			l, ok := v.([]any)
			if !ok || k >= len(l) {
				return nil
			}
			v = l[k]
		}
	}
	return v
}

func (p page) str(t testing.TB, path ...any) string {
	t.Helper()
	s, _ := p.field(t, path...).(string)
	return s
}

// wantProblem checks a problem document: status, first field, and code.
func (p page) wantProblem(t testing.TB, status int, field, code string) page {
	t.Helper()
	if p.Status != status {
		t.Fatalf("status %d, want %d: %s", p.Status, status, p.Body)
	}
	if ct := p.Header.Get("Content-Type"); !strings.HasPrefix(ct, "application/problem+json") {
		t.Errorf("content type %q", ct)
	}
	if field == "" {
		if got := p.str(t, "code"); got != code {
			t.Errorf("code %q, want %q: %s", got, code, p.Body)
		}
		return p
	}
	errs, _ := p.field(t, "errors").([]any)
	for i := range errs {
		if p.str(t, "errors", i, "field") == field && (code == "" || p.str(t, "errors", i, "code") == code) {
			if m := p.str(t, "errors", i, "message"); m == "" || strings.HasPrefix(m, "[") {
				t.Errorf("%s has message %q", field, m)
			}
			return p
		}
	}
	t.Errorf("no problem of %q with code %q: %s", field, code, p.Body)
	return p
}

const morningCheck = `{"on":"2026-02-10","temperature":{"value":7.2,"unit":"Cel"},"chiller":"running","dead":{"eggs":0},"stage":"eyed_egg"}`

func TestAPICheckLife(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper)
	season := "/seasons/" + string(ts.one.ID)
	made := c.with("Idempotency-Key", "k-0001").post(season+"/checks", morningCheck).want(t, 201)
	id := "/checks/" + made.str(t, "check", "id")
	if made.Header.Get("ETag") != `"1"` || made.Location != "/api/v1"+id {
		t.Errorf("etag %q, location %q", made.Header.Get("ETag"), made.Location)
	}
	if v, ok := made.field(t, "check", "dead", "eggs").(float64); !ok || v != 0 {
		t.Errorf("a counted 0 is gone: %s", made.Body)
	}
	if made.field(t, "check", "ph") != nil || made.field(t, "check", "dead", "fry") != nil {
		t.Errorf("something not seen is there: %s", made.Body)
	}

	c.send("PATCH", id, `{"ph":7,"reason":"late"}`).wantProblem(t, 428, "", "api.if_match")
	c.with("If-Match", `"9"`).send("PATCH", id, `{"ph":7,"reason":"late"}`).wantProblem(t, 412, "", "error.stale").
		want(t, 412, `"current":{`)
	c.with("If-Match", `"1"`).send("PATCH", id, `{"ph":7}`).wantProblem(t, 422, "reason", "error.reason")
	c.with("If-Match", `"1"`).send("PATCH", id, `{"phh":7,"reason":"x"}`).wantProblem(t, 422, "phh",
		"api.unknown_field")
	fixed := c.with("If-Match", `"1"`).send("PATCH", id, `{"ph":7.1,"chiller":null,"reason":"misread"}`).want(t, 200)
	if fixed.Header.Get("ETag") != `"2"` || fixed.field(t, "check", "ph") != 7.1 ||
		fixed.field(t, "check", "chiller") != nil ||
		fixed.field(t, "check", "temperature_c") != 7.2 || fixed.str(t, "check", "reason") != "misread" {
		t.Errorf("corrected to %s", fixed.Body)
	}
	c.with("If-Match", `"2"`).send("DELETE", id, "").wantProblem(t, 422, "reason", "error.reason")
	gone := c.with("If-Match", `"2"`).send("DELETE", id, `{"reason":"wrong tank"}`).want(t, 200)
	if gone.str(t, "check", "status") != "voided" {
		t.Errorf("voided to %s", gone.Body)
	}
	c.get(id).want(t, 200, `"status":"voided"`)
	whole := c.get(season).want(t, 200)
	if n := len(whole.field(t, "voided_checks").([]any)); n != 1 || len(whole.field(t, "checks").([]any)) != 0 {
		t.Errorf("season shows %d voided checks: %s", n, whole.Body)
	}
}

func TestAPITemperatureKeepsItsUnit(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper)
	p := c.post("/seasons/"+string(ts.one.ID)+"/checks",
		`{"on":"2026-02-10","temperature":{"value":45.50,"unit":"[degF]"}}`).want(t, 201)
	if p.field(t, "check", "temperature", "value") != 45.5 || p.str(t, "check", "temperature", "unit") != "[degF]" ||
		p.field(t, "check", "temperature_c") != 7.5 || p.str(t, "check", "temperature_entered") != "45.50" {
		t.Errorf("stored %s", p.Body)
	}
	fixed := c.with("If-Match", `"1"`).send("PATCH", "/checks/"+p.str(t, "check", "id"),
		`{"note":"by the window","reason":"other"}`).want(t, 200)
	if fixed.str(t, "check", "temperature_entered") != "45.50" {
		t.Errorf("an edit of the note changed the temperature: %s", fixed.Body)
	}
}

func TestAPISurprisingValueAsks(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.class)
	path := "/seasons/" + string(ts.one.ID) + "/checks"
	c.post(path, `{"on":"2026-02-09","temperature":{"value":7,"unit":"Cel"}}`).want(t, 201)
	hot := `{"on":"2026-02-10","temperature":{"value":13.5,"unit":"Cel"}`
	asked := c.post(path, hot+"}").wantProblem(t, 422, "temperature", "temperature.warmer")
	if asked.field(t, "errors", 0, "confirm") != true {
		t.Errorf("not asked to confirm: %s", asked.Body)
	}
	stored := c.post(path, hot+`,"confirm":["temperature"]}`).want(t, 201)
	if stored.str(t, "check", "confirmed", 0) != "temperature" ||
		stored.str(t, "warnings", 0, "field") != "temperature" {
		t.Errorf("confirmed value stored as %s", stored.Body)
	}
	if !strings.Contains(stored.Body, `"op":"raise"`) {
		t.Errorf("13.5 C raises no flag: %s", stored.Body)
	}
	// A confirmation of what is not surprising is not kept.
	calm := c.post(path, `{"on":"2026-02-08","temperature":{"value":7,"unit":"Cel"},"confirm":["temperature"]}`).want(t,
		201)
	if calm.field(t, "check", "confirmed") != nil {
		t.Errorf("calm value confirmed: %s", calm.Body)
	}
	// A value that cannot be is never stored, confirmed or not.
	c.post(path, `{"on":"2026-02-07","temperature":{"value":45,"unit":"Cel"},"confirm":["temperature"]}`).wantProblem(t,
		422, "temperature", "")
}

// The same slot holds one check; the second one is shown what is there.
func TestAPISlotIsTaken(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper)
	path := "/seasons/" + string(ts.one.ID) + "/checks"
	c.post(path, morningCheck).want(t, 201)
	c.post(path, morningCheck).want(t, 200)
	c.post(path, strings.Replace(morningCheck, "7.2", "7.4", 1)).wantProblem(t, 409, "", "error.check.exists").want(t,
		409, `"current":{`)
}

func TestAPIBodiesAreStrict(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper)
	path := "/seasons/" + string(ts.one.ID) + "/checks"
	for _, x := range []struct {
		body   string
		status int
		field  string
	}{
		{``, 400, ""},
		{`{"on":`, 400, ""},
		{`{"on":"2026-02-10"`, 400, ""},
		{"{\"on\":\"\xff\"}", 400, ""},
		{strings.Repeat("[", 5000), 400, ""},
		{`[]`, 422, "body"},
		{`null`, 422, "body"},
		{`{"on":"2026-02-10","on":"2026-02-09"}`, 422, "on"},
		{`{"on":"2026-02-10","temperature":{"value":7,"value":8,"unit":"Cel"}}`, 422, "temperature.value"},
		{`{"on":"2026-02-10"} {}`, 422, "body"},
		{`{"on":"2026-02-10","colour":"red"}`, 422, "colour"},
		{`{"on":"2026-02-10","temperature":{"value":7,"unit":"Cel","scale":1}}`, 422, "temperature.scale"},
		{`{"on":"2026-02-10","temperature":"7.5"}`, 422, "temperature"},
		{`{"on":"2026-02-10","temperature":{"value":"7.5","unit":"Cel"}}`, 422, "temperature.value"},
		{`{"on":"2026-02-10","temperature":{"value":1e400,"unit":"Cel"}}`, 422, "temperature.value"},
		{`{"on":"2026-02-10","temperature":{"value":7,"unit":"K"}}`, 422, "temperature.unit"},
		{`{"on":"2026-02-10","temperature":{"unit":"Cel"}}`, 422, "temperature.value"},
		{`{"on":"2026-02-10","dead":{"eggs":1.5}}`, 422, "dead.eggs"},
		{`{"on":"2026-02-10","dead":{"eggs":-1}}`, 422, "dead.eggs"},
		{`{"on":"2026-02-10","dead":3}`, 422, "dead"},
		{`{"on":20260210,"ph":7}`, 422, "on"},
		{`{"on":"2026-02-30","ph":7}`, 422, "on"},
		{`{"ph":7}`, 422, "on"},
		{`{"on":"2026-02-10"}`, 422, "temperature"},
		{`{"on":"2026-02-10","stage":"tadpole"}`, 422, "stage"},
		{`{"on":"2026-02-11","ph":7}`, 422, "on"},
	} {
		p := c.post(path, x.body)
		code := ""
		if x.field == "" {
			code = "api.not_json"
		}
		if p.Status != x.status {
			t.Errorf("%.60s: status %d, want %d: %s", x.body, p.Status, x.status, p.Body)
			continue
		}
		p.wantProblem(t, x.status, x.field, code)
	}
}

func TestAPIEdges(t *testing.T) {
	ts := newTestServer(t)
	path := "/seasons/" + string(ts.one.ID) + "/checks"
	c := ts.program(ts.keeper)
	c.post(path, `{"note":"`+strings.Repeat("x", 300<<10)+`"}`).wantProblem(t, 413, "", "error.too_large")
	c.get("/nothing").wantProblem(t, 404, "", "error.not_found")
	c.send("PUT", path, "{}").wantProblem(t, 405, "", "error.method")
	c.get("/board?sort=name").wantProblem(t, 422, "sort", "api.unknown_parameter")
	c.get("/board?status=fine&status=act").wantProblem(t, 422, "status", "api.twice")
	(&client{ts: ts, token: "wrong"}).get("/board").wantProblem(t, 401, "", "error.token")

	r := httptest.NewRequest("GET", "/api/v1/calc/ice", nil)
	r.Host = "evil.example"
	w := httptest.NewRecorder()
	ts.ServeHTTP(w, r)
	if w.Code != 421 || !strings.HasPrefix(w.Header().Get("Content-Type"), "application/problem+json") {
		t.Errorf("wrong host: %d %s", w.Code, w.Body)
	}
	// A page of another site cannot use the session of a signed-in browser.
	b := ts.as(ts.keeper)
	r = httptest.NewRequest("POST", "/api/v1"+path, strings.NewReader(morningCheck))
	r.Header.Set("Origin", "http://evil.example")
	b.do(r).wantProblem(t, 403, "", "error.origin")
	r = httptest.NewRequest("POST", "/api/v1"+path, strings.NewReader(morningCheck))
	r.Header.Set("Origin", "http://localhost")
	b.do(r).want(t, 201)
}
