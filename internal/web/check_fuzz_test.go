package web

import (
	"html"
	"net/http/httptest"
	"strings"
	"testing"

	"reddside/internal/entries"
	"reddside/internal/logbook"
)

// htmlText is text as templ writes it.
func htmlText(s string) string { return html.EscapeString(s) }

// FuzzCheckForm sends whatever a browser, or something else, may send as a check
// and as its correction: it is stored, or refused with a reason, and never
// breaks anything.
func FuzzCheckForm(f *testing.F) {
	for _, seed := range []string{
		plainCheck().Encode(),
		"on=2026-02-10&temperature=7%2C5&dead_eggs=1%2C500&confirm=temperature&confirm=x",
		"on=other&on_other=0000-00-00&time=99:99&slot=extra_9&ph=NaN&tan_mg_l=1e999&nitrate_mg_l=-0",
		"on=2026-02-10&on=other&note=%00%ff%fe&observer=%e2%80%ae&temperature=%CE%A9 F&key=" + strings.Repeat("a", 26),
		"%zz=%gg&;&=&&", "temperature=" + strings.Repeat("9", 400),
		"on=2026-02-10&fed_g=1e308&oxygen_mg_l=Inf&dead_fry=99999999999999999999",
		"on=2026-02-10&note=only&was_confirmed=%3D&was_confirmed=on&revision=9223372036854775808&reason=other&reason_text=%0a",
	} {
		for which := range uint8(4) {
			f.Add(which, seed)
		}
	}
	ts := newTestServer(f)
	ts.soundAtTheEnd(f)
	b := ts.as(ts.keeper)
	stored := b.post(seasonPath(ts.two, "checks"), plainCheck()).Location
	paths := []string{seasonPath(ts.one, "checks"), stored + "/correct", seasonPath(ts.one, "events"), stored + "/void"}
	f.Fuzz(func(t *testing.T, which uint8, body string) {
		path := paths[int(which)%len(paths)]
		req := httptest.NewRequest("POST", path, strings.NewReader(body))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		switch p := b.do(req); p.Status {
		case 200, 303, 409, 422:
			if strings.Contains(p.Body, "<no value>") {
				t.Errorf("%s: a text lacks a value", path)
			}
		default:
			t.Errorf("%s answered %d: %s", path, p.Status, plainText(p.Body))
		}
		if path != paths[0] {
			return
		}
		s, err := ts.DB.LoadSeason(t.Context(), ts.one.ID)
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.Checks {
			c := s.Checks[i]
			if problems := c.Validate(logbook.CheckContext{Season: entries.Without(s, &c, &c),
				Today: ts.Assess.Today(s.Site, testNow)}); hard(problems) {
				t.Errorf("stored against the rules: %+v %v", c, problems)
			}
		}
	})
}

func hard(problems []logbook.Problem) bool {
	for _, p := range problems {
		if !p.Soft {
			return true
		}
	}
	return false
}
