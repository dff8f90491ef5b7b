package browser

import (
	"strings"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// fill replaces the text of a field by typing. Date fields take YYYY-MM-DD,
// which is typed as the browser's own field wants it: not portable, so set.
func (b *tab) fill(name, value string) {
	b.t.Helper()
	css := `main [name="` + name + `"]`
	b.seen(css)
	b.unfold(css)
	if eval[string](b, `document.querySelector(`+quote(css)+`).type`) == "date" {
		b.set(css, value)
		return
	}
	eval[bool](b, `(function (el) { el.focus(); el.select(); return true; })(document.querySelector(`+quote(css)+`))`)
	if value == "" {
		value = "\b"
	}
	b.do(chromedp.KeyEvent(value))
}

// set gives a list or a date field a value, with the events of a person.
func (b *tab) set(css, value string) {
	b.t.Helper()
	got := eval[string](b, `(function (el) {
		el.value = `+quote(value)+`;
		["input", "change"].forEach(function (n) { el.dispatchEvent(new Event(n, {bubbles: true})); });
		return el.value;
	})(document.querySelector(`+quote(css)+`))`)
	if got != value {
		b.t.Fatalf("%s does not take %q", css, value)
	}
}

// unfold opens the fold that an element is in, by its summary.
func (b *tab) unfold(css string) {
	b.t.Helper()
	if eval[bool](b, `(function (d) { return !!d && !d.open; })(document.querySelector(`+quote(css)+
		`).closest("details"))`) {
		b.press(`details:has(` + strings.TrimPrefix(css, "main ") + `) > summary`)
	}
}

// choose picks a tile, or an option of a list.
func (b *tab) choose(name, value string) {
	b.t.Helper()
	if list := `main select[name="` + name + `"]`; b.count(list) > 0 {
		b.set(list, value)
		return
	}
	css := `input[name="` + name + `"][value="` + value + `"]`
	b.seen(css)
	b.unfold(css)
	b.press(`label:has(` + css + `)`)
	if !eval[bool](b, `document.querySelector(`+quote(css)+`).checked`) {
		b.t.Fatalf("a tap on %s=%s did not choose it", name, value)
	}
}

// value is what a field holds.
func (b *tab) value(name string) string {
	b.t.Helper()
	return eval[string](b, `(function () {
		var all = document.querySelectorAll('main [name="`+name+`"]');
		for (var i = 0; i < all.length; i++) {
			if (all[i].type === "radio" || all[i].type === "checkbox") { if (all[i].checked) { return all[i].value; } }
			else { return all[i].value; }
		}
		return "";
	})()`)
}

// text is what main shows, folded parts included.
func (b *tab) text() string {
	return eval[string](b, `(document.querySelector("main") || document.body).textContent.replace(/[ \n\t]+/g, " ").trim()`)
}

// says checks for texts on the page.
func (b *tab) says(texts ...string) {
	b.t.Helper()
	have := b.text()
	for _, s := range texts {
		if !strings.Contains(have, s) {
			b.t.Errorf("no %q at %s: %.1500s", s, b.where(), have)
		}
	}
}

// size sets the window in CSS pixels.
func (b *tab) size(w, h int64) {
	b.t.Helper()
	must(b, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: w, Height: h,
		DeviceScaleFactor: 1})
}

// media sets what the person prefers: scheme is light or dark.
func (b *tab) media(scheme string, reduced bool) {
	b.t.Helper()
	motion := "no-preference"
	if reduced {
		motion = "reduce"
	}
	must(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: motion}}})
}

// withoutScript switches the page's scripts off. Chromium still answers eval.
func (b *tab) withoutScript() {
	b.t.Helper()
	must(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
}

// as signs in with one of the roles of the demonstration.
func (b *tab) as(role string) *tab {
	b.t.Helper()
	b.open("/sign-in")
	b.click(`button[name="role"][value="` + role + `"]`)
	return b
}

// forgetSession drops the cookie of the session, as a browser does when it ends.
func (b *tab) forgetSession() {
	b.t.Helper()
	cookies := must(b, network.GetCookies, network.GetCookiesParams{})
	n := 0
	for _, c := range cookies.Cookies {
		if c.Name == "reddside_session" {
			n++
			must(b, network.DeleteCookies, network.DeleteCookiesParams{Name: c.Name, URL: b.base})
		}
	}
	if n != 1 {
		b.t.Fatalf("%d session cookies, want 1", n)
	}
}
