package web

import (
	"bytes"
	"mime/multipart"
	"net/http/httptest"
	"strings"
	"testing"

	"reddside/internal/units"
)

const fileOfChecks = `on,slot,temperature,dead_eggs,stage,chiller,note
2026-01-21,morning,7.0,2,eyed_egg,running,"one tap, slow"
2026-01-22,morning,44.6 F,0,eyed_egg,running,
2026-01-22,extra,7.1,,,,
`

func TestImportChecks(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	send := func(text string) string {
		t.Helper()
		return b.sendFile(ts.one, "checks", "checks.csv", []byte(text)).want(t, 303).Location
	}
	at := send(fileOfChecks)
	b.get(at).want(t, 200, "Store 3 checks", "21 January 2026", "22 January 2026")
	if n := len(ts.load(ts.one).Checks); n != 0 {
		t.Fatalf("looking stored %d checks", n)
	}
	to := b.post(at, fields()).want(t, 303).Location
	b.get(to).want(t, 200, "3 checks stored.")
	got := ts.load(ts.one)
	if len(got.Checks) != 3 || got.Checks[0].Note != "one tap, slow" || got.Checks[0].DeadEggs != units.Some(2) ||
		got.Checks[2].DeadEggs.OK ||
		got.Checks[1].TemperatureUnit != units.DegF {
		t.Fatalf("stored %+v", got.Checks)
	}
	if d := float64(got.Checks[1].Temperature.V) - 7; d > 1e-9 || d < -1e-9 {
		t.Errorf("44.6 F is stored as %v", got.Checks[1].Temperature.V)
	}
	// The same file again, its numbers written with a comma, changes nothing.
	again := strings.NewReplacer("7.0", `"7,0"`, "44.6 F", `"44,6 F"`, "7.1", `"7,1"`).Replace(fileOfChecks)
	for _, text := range []string{fileOfChecks, again} {
		b.get(send(text)).want(t, 200, "Already in the log").lacks(t, "Store ")
		if after := ts.load(ts.one); after.Revision != got.Revision {
			t.Error("the same file changed the season")
		}
	}
	// Another value for a taken day is refused with its line, and so is the rest.
	at = send("on,temperature\n2026-01-23,7\n2026-01-21,8\n")
	b.get(at).want(t, 200, "To mend first", "another check for 21 January 2026").lacks(t, "Store ")
	b.post(at, fields("confirm", "yes")).want(t, 422)
	if n := len(ts.load(ts.one).Checks); n != 3 {
		t.Errorf("%d checks after a file with a problem", n)
	}
}

// Every problem has its line, its column and what to write; nothing is stored.
func TestImportChecksProblems(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	at := b.sendFile(ts.one, "checks", "c.csv", fixtureFile(t, "checks_problems.csv")).want(t, 303).Location
	p := b.get(at).want(t, 200, "must be a date like 2025-01-31", "has the same day and slot", "must be one of",
		"dead_eggs").lacks(t, "Store ")
	if n := strings.Count(p.Body, "<tr>"); n < 6 {
		t.Errorf("%d rows of problems", n)
	}
	at = b.sendFile(ts.one, "checks", "c.csv",
		[]byte("on,temperature,dead_eggs\n2026-01-19,7,0\n2026-02-11,7,0\n2026-01-25,99,0\n2026-01-26,7,201\n")).want(t,
		303).Location
	b.get(at).want(t, 200, "before the eggs arrived on 20 January 2026", "still to come").lacks(t, "Store ")
	b.post(at, fields("confirm", "yes")).want(t, 422)
	if n := len(ts.load(ts.one).Checks); n != 0 {
		t.Errorf("%d checks stored", n)
	}
}

// A surprising value is stored once a person has looked at it.
func TestImportChecksAsksOnce(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	at := b.sendFile(ts.one, "checks", "c.csv",
		[]byte("on,temperature\n2026-01-21,7\n2026-01-22,12\n2026-01-23,12.2\n")).want(t, 303).Location
	b.get(at).want(t, 200, "Unusual values", "Store 3 checks")
	b.post(at, fields()).want(t, 422, "tick the box", "Error: ")
	if n := len(ts.load(ts.one).Checks); n != 0 {
		t.Fatalf("%d checks stored without a look", n)
	}
	b.post(at, fields("confirm", "yes")).want(t, 303)
	got := ts.load(ts.one).Checks
	if len(got) != 3 || strings.Join(got[1].Confirmed, " ") != "temperature" || len(got[0].Confirmed) != 0 {
		t.Errorf("stored %+v", got)
	}
}

// FuzzUpload sends anything as a file of either kind, looks at it, and stores
// it: the program answers, and never with an error of its own.
func FuzzUpload(f *testing.F) {
	for _, name := range []string{"bom_title.csv", "day_or_month.csv", "every_refusal.csv", "depths_long.csv",
		"utf16_tab_events.txt", "semicolon_decimal_comma.csv"} {
		f.Add("readings", name, fixtureFile(f, name), "dmy")
	}
	for _, name := range []string{"checks_any_order.csv", "checks_problems.csv"} {
		f.Add("checks", name, fixtureFile(f, name), "yes")
	}
	f.Add("checks", "x", []byte(fileOfChecks), "yes")
	f.Add("readings", "a\"\r\nb.csv", []byte("time,temp C\n2026-01-21 08:00,999999999999999999999999999999999999\n"),
		"")
	ts := newTestServer(f)
	b := ts.as(ts.keeper)
	f.Fuzz(func(t *testing.T, kind, name string, data []byte, answer string) {
		var body bytes.Buffer
		form := multipart.NewWriter(&body)
		_ = form.WriteField("kind", kind)
		w, err := form.CreateFormFile("file", name)
		if err != nil {
			t.Skip()
		}
		_, _ = w.Write(data)
		_ = form.Close()
		req := httptest.NewRequest("POST", seasonPath(ts.one, "import"), &body)
		req.Header.Set("Content-Type", form.FormDataContentType())
		p := b.do(req)
		if p.Status >= 500 {
			t.Fatalf("upload: %d %s", p.Status, plainText(p.Body))
		}
		if p.Status != 303 {
			return
		}
		at := p.Location
		p = b.get(at)
		if p.Status >= 500 {
			t.Fatalf("look: %d", p.Status)
		}
		more := []string{"confirm", answer, "date_order", answer, "series", answer, "zone", answer, "time_column",
			answer}
		for _, do := range []string{"show", "store"} {
			if q := b.storeShown(at, p, do, more...); q.Status >= 500 {
				t.Fatalf("%s: %d %s", do, q.Status, plainText(q.Body))
			} else if q.Status == 303 && strings.HasPrefix(q.Location, "/") {
				if r := b.get(q.Location); r.Status >= 500 {
					t.Fatalf("after %s: %d", do, r.Status)
				}
			}
		}
		if q := b.storeShown(at, p, "store"); q.Status >= 500 {
			t.Fatalf("store: %d %s", q.Status, plainText(q.Body))
		}
		if q := b.get(at + "/refused.csv?" + p.hidden().Get("shown")); q.Status >= 500 {
			t.Fatalf("list: %d", q.Status)
		}
	})
}
