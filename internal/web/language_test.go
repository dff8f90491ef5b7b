package web

import (
	"strings"
	"testing"

	"reddside/internal/web/req"
)

// A form that came back with problems can be opened again in the other language:
// the switch leads to the page of the form, not to an address that only takes
// entries.
func TestLanguageSwitchAfterProblems(t *testing.T) {
	ts := newTestServer(t)
	keeper, boss := ts.as(ts.keeper), ts.as(ts.coordinator)
	one := "/seasons/" + string(ts.one.ID)
	for _, x := range []struct {
		b          *browser
		post, back string
	}{
		{keeper, one + "/checks", one + "/checks/new"},
		{boss, "/sites", "/sites/new"},
		{boss, "/lots", "/lots/new"},
		{boss, "/board/views", "/board/views"},
	} {
		p := x.b.post(x.post, fields("temperature", "warm"))
		if p.Status != 422 || !strings.Contains(p.Body, `name="back" value="`+x.back+`"`) {
			t.Errorf("%s: status %d, the switch does not lead to %s", x.post, p.Status, x.back)
			continue
		}
		if p := x.b.post("/language", fields("language", "fr", "back", x.back)); p.Location != x.back {
			t.Errorf("led to %s", p.Location)
		}
		x.b.get(x.back).want(t, 200)
		delete(x.b.cookies, req.CookieLanguage)
	}
}
