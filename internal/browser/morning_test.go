package browser

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// onScreen is true when the first element of a selector stands whole in the window
// as the page was opened, without scrolling.
func onScreen(css string) string {
	return `(function (el) {
		if (!el) { return false; }
		var r = el.getBoundingClientRect();
		return r.height > 0 && r.top + window.scrollY >= 0 && r.bottom + window.scrollY <= window.innerHeight;
	})(document.querySelector(` + quote(css) + `))`
}

// keys types where the focus is.
func (b *tab) keys(text string) { b.t.Helper(); b.do(chromedp.KeyEvent(text)) }

// high checks that a page is no higher than its bound in pixels.
func (b *tab) high(name string, w, h int64, most int) {
	b.t.Helper()
	b.size(w, h)
	if got := eval[int](b, `document.scrollingElement.scrollHeight`); got > most {
		b.t.Errorf("%s is %d px high at %d x %d, at most %d", name, got, w, h, most)
	}
}

// TestCheckFormIsShort: what the day needs is open, the rest is folded, and nothing
// is lost.
func TestCheckFormIsShort(t *testing.T) {
	t.Parallel()
	_, b := onCheckForm(t, "Room 3")
	for _, lang := range []string{"en", "fr"} {
		if lang == "fr" {
			b.size(1280, 800)
			b.click(`form.language button[value="fr"]`)
		}
		b.high("the check in "+lang, 1024, 768, 1550)
		b.high("the check in "+lang, 390, 844, 2600)
	}
	for _, name := range []string{"on", "on_other", "temperature", "chiller", "air_pump", "dead_eggs", "dead_alevins",
		"dead_fry", "dead_cause", "stage",
		"hatched", "water", "fungus", "ph", "tan_mg_l", "nitrite_mg_l", "nitrate_mg_l", "oxygen_mg_l", "chlorine_mg_l",
		"alkalinity_mg_l", "fed_g",
		"time", "note", "observer"} {
		b.seen(fmt.Sprintf(`form.check-form [name=%q]`, name))
	}
}

// TestCheckOnTheSecondDay: from Today to a stored check in six taps. The group comes
// from the duty list, and all equipment takes one tap, which somebody has to make.
func TestCheckOnTheSecondDay(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("class")
	b.size(1024, 768)
	b.open("/today")
	taps := 0
	tap := func(css string) { t.Helper(); taps++; b.press(css) }
	taps++
	b.click(`a.today-card[href$="` + string(s.season("Room 3", true).ID) + `/checks/new"]`)
	if v := b.value("all_running"); v != "" {
		t.Error("all equipment runs before anybody looked")
	}
	tap(`label:has(> #all_running)`)
	tap("#temperature")
	b.keys("5.4")
	tap("#dead_eggs")
	b.keys("0")
	tap(`label.pick:has([value="eyed_egg"])`)
	taps++
	b.click(saveButton)
	b.wantStored()
	if taps > 6 {
		t.Errorf("%d taps", taps)
	}
	season := s.season("Room 3", true)
	c := season.Checks[len(season.Checks)-1]
	if c.Chiller != "running" || c.AirPump != "running" || c.Filter != "not_fitted" || c.Observer != "Group 2" ||
		c.DeadEggs.V != 0 || !c.DeadEggs.OK || c.Stage != "eyed_egg" {
		t.Errorf("stored: %+v", c)
	}
}

// TestAlarmFirst: forty dead on a phone. The answers stand in the question, on the
// screen; then the alarm comes first, whole, and Today does not praise.
func TestAlarmFirst(t *testing.T) {
	t.Parallel()
	s, b := onCheckForm(t, "Room 3")
	for _, size := range [][2]int64{{390, 844}, {1024, 768}} {
		b.size(size[0], size[1])
		b.open(seasonPath(s.season("Room 3", true), "/checks/new"))
		b.fill("dead_eggs", "40")
		b.clickFor(422, saveButton)
		if !eval[bool](b, onScreen("#summary")) {
			t.Errorf("the question is not whole on the screen of %d x %d", size[0], size[1])
		}
	}
	b.size(390, 844)
	b.click("#summary button")
	b.wantStored()
	if !eval[bool](b, onScreen(".flag.act")) {
		t.Errorf("the alarm is not whole on the first screen: it ends at %d px",
			eval[int](b, `Math.round(document.querySelector(".flag.act").getBoundingClientRect().bottom + scrollY)`))
	}
	b.open("/today")
	if eval[bool](b, `document.querySelector("main").innerText.indexOf("Well done") >= 0`) {
		t.Error("Today says Well done after forty dead")
	}
	b.says("Tell your teacher now")
}

// TestLeavingDiscards: what was asked about and left is gone: it does not wait, and
// it is not filled in again.
func TestLeavingDiscards(t *testing.T) {
	t.Parallel()
	s, b := onCheckForm(t, "Room 3")
	form := seasonPath(s.season("Room 3", true), "/checks/new")
	left := `Object.keys(localStorage).filter(function (k) { return k.indexOf("reddside.") === 0; }).length`
	b.fill("temperature", "20")
	b.clickFor(422, saveButton)
	if n := eval[int](b, pendingEntries); n != 0 {
		t.Errorf("%d entries wait while the question is on the page", n)
	}
	b.click("form.check-form [data-leave]")
	if n := eval[int](b, left); n != 0 {
		t.Errorf("%d things are kept after leaving without saving", n)
	}
	b.open(form)
	if v := b.value("temperature"); v != "" {
		t.Errorf("%q is filled in again", v)
	}
	// A draft is offered once.
	b.fill("temperature", "5.1")
	b.open("/today")
	b.open(form)
	if v := b.value("temperature"); v != "5.1" {
		t.Errorf("the draft is not offered: %q", v)
	}
	b.do(chromedp.Reload())
	if v := b.value("temperature"); v != "5.1" {
		t.Errorf("loading the page again loses the draft: %q", v)
	}
	b.open("/today")
	b.open(form)
	if v := b.value("temperature"); v != "" {
		t.Errorf("the draft is offered a second time: %q", v)
	}
	// A check that is stored answers what waits with a question about the same day.
	eval[bool](b, `(function (e) { localStorage.setItem("reddside.waiting." + e.key, JSON.stringify(e)); return true; })({
		key: "ABCDEFGHIJKLMNOPQRSTUVWX22", at: Date.now(), action: `+quote(seasonPath(s.season("Room 3", true), "/checks"))+`, form: `+quote(form)+`, tank: "Room 3", on: "2026-02-10",
		who: "", need: "look", waited: true, fields: [["temperature", "20"]], says: []})`)
	b.fill("temperature", "5.2")
	b.click(saveButton)
	b.wantStored()
	if n := eval[int](b, left); n != 0 {
		t.Errorf("%d things are kept after the right check was stored", n)
	}
}

// TestChartLabelsDoNotCollide: the charts of two tanks on a laptop and on a phone:
// even steps between the days, no two texts over each other, and the whole width.
func TestChartLabelsDoNotCollide(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	for _, tank := range []string{"Room 12", "Wet lab", "Atelier"} {
		for _, size := range [][2]int64{{1280, 800}, {390, 844}} {
			b.size(size[0], size[1])
			b.visit(place{name: tank, path: seasonPath(s.season(tank, true), "/charts"), charts: true})
			for _, c := range eval[[]string](b, collisions) {
				t.Errorf("%s at %d: %s", tank, size[0], c)
			}
			if w := eval[float64](b, `document.querySelector(".plot").getBoundingClientRect().width / document.querySelector("main").clientWidth`); w < 0.9 {
				t.Errorf("%s at %d: the chart takes %.2f of the width", tank, size[0], w)
			}
		}
	}
}

// collisions lists texts of a chart that overlap by more than a pixel, and days on
// its axis at uneven steps.
const collisions = `(function () {
	var out = [];
	document.querySelectorAll("[data-chart]").forEach(function (box) {
		var texts = Array.prototype.map.call(box.querySelectorAll("svg text"), function (t) { var r = t.getBoundingClientRect(); return {t: t.textContent, r: r}; })
			.filter(function (x) { return x.t && x.r.width > 0; });
		texts.forEach(function (a, i) {
			texts.slice(i + 1).forEach(function (c) {
				var x = Math.min(a.r.right, c.r.right) - Math.max(a.r.left, c.r.left), y = Math.min(a.r.bottom, c.r.bottom) - Math.max(a.r.top, c.r.top);
				if (x > 1 && y > 2) { out.push(box.id + ": " + a.t + " over " + c.t); }
			});
			if (a.r.right > box.getBoundingClientRect().right + 1) { out.push(box.id + ": " + a.t + " is cut off"); }
		});
		var days = texts.filter(function (x) { return /^\d+ \S+$/.test(x.t) && Math.abs(x.r.bottom - Math.max.apply(null, texts.map(function (y) { return y.r.bottom; }))) < 3; })
			.map(function (x) { return x.r.left + x.r.width / 2; }).sort(function (a, c) { return a - c; });
		for (var i = 2; i < days.length; i++) {
			if (Math.abs((days[i] - days[i - 1]) - (days[1] - days[0])) > 3) { out.push(box.id + ": uneven days at " + days.join(" ")); break; }
		}
		if (days.length < 3) { out.push(box.id + ": only " + days.length + " days on its axis"); }
	});
	return out;
})()`

// TestRulesAndLimitsAreShort: one family at a time, a search over all, and what was
// changed here first.
func TestRulesAndLimitsAreShort(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	for _, p := range []string{"/rules", "/rules/thresholds"} {
		for _, family := range append([]string{p}, eval[[]string](b, `fetch(`+quote(p)+`).then(function (r) { return r.text(); }).then(function (x) {
			var d = new DOMParser().parseFromString(x, "text/html");
			return Array.prototype.map.call(d.querySelectorAll("nav.tabs a"), function (a) { return a.getAttribute("href"); });
		})`)...) {
			b.size(1280, 800)
			b.open(family)
			b.high(family, 1280, 800, 2400)
		}
		b.size(1280, 800)
		b.open(p)
		b.fill("q", "chlorine")
		b.click(".rules-search button")
		b.says("Chlorine")
		if n := b.count("details.rule"); n == 0 || n > 8 {
			t.Errorf("%s: %d entries about chlorine", p, n)
		}
	}
	b.open("/rules/thresholds/dead_min")
	b.fill("value", "4")
	b.fill("reason", "small baskets")
	b.click(`button[value="save"]`)
	for _, p := range []string{"/rules", "/rules/thresholds?family=water"} {
		b.open(p)
		if text := eval[string](b, `document.querySelector("main h2").parentNode.innerText`); !strings.Contains(text,
			"small baskets") {
			t.Errorf("%s: what was changed does not stand first: %.200s", p, text)
		}
	}
}
