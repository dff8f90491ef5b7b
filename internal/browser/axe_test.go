package browser

import (
	"fmt"
	"os"
	"strings"
	"sync"
)

var axeSource = sync.OnceValues(func() (string, error) {
	data, err := os.ReadFile("../../testdata/axe/axe.min.js")
	return string(data), err
})

type axeResult struct {
	Passes     int
	Violations []struct {
		ID, Help string
		Nodes    []string
	}
}

// axe checks the page with axe-core: every rule of WCAG 2.0, 2.1 and 2.2 at
// levels A and AA, and its best practices. It comes in through the debugger, so
// that the content policy of the page stays as it is.
func (b *tab) axe(name string) {
	b.t.Helper()
	source, err := axeSource()
	if err != nil {
		b.t.Fatal(err)
	}
	eval[bool](b, source+"\n;true")
	r := eval[axeResult](b, `axe.run(document, {
		resultTypes: ["violations"],
		runOnly: {type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
	}).then(function (r) {
		return {Passes: r.passes.length, Violations: r.violations.map(function (v) {
			return {ID: v.id, Help: v.help, Nodes: v.nodes.slice(0, 5).map(function (n) { return n.html.slice(0, 220) + " -- " + (n.failureSummary || "").slice(0, 400); })};
		})};
	})`)
	if r.Passes < 10 {
		b.t.Errorf("%s: axe-core passed only %d rules: it did not look at the page", name, r.Passes)
	}
	for _, v := range r.Violations {
		b.t.Errorf("%s: %s: %s\n\t%s", name, v.ID, v.Help, strings.Join(v.Nodes, "\n\t"))
	}
}

// narrow checks that nothing makes the page scroll sideways at 320 CSS pixels:
// a small phone, and with little height a 1280 x 1024 screen at 400 % zoom
// (WCAG 1.4.10, read).
func (b *tab) narrow(name string) {
	b.t.Helper()
	for _, h := range []int64{640, 256} {
		b.size(320, h)
		r := eval[struct {
			Width int
			Wide  []string
		}](b, `(function () {
			var all = [];
			document.querySelectorAll("body *").forEach(function (x) {
				var r = x.getBoundingClientRect();
				if (r.right > 321 && r.width > 1 && !x.closest(".scroll, svg, .hidden-label, .skip")) { all.push(x.tagName + "." + x.getAttribute("class") + " to " + Math.round(r.right)); }
			});
			return {Width: document.scrollingElement.scrollWidth, Wide: all.slice(0, 6)};
		})()`)
		if r.Width > 320 {
			b.t.Errorf("%s: %d px wide in a window of 320 x %d: %s", name, r.Width, h, strings.Join(r.Wide, "; "))
		}
	}
	b.size(1280, 800)
}

// targetScript lists targets that are too small for a finger. A target below
// 24 px passes when it stands in a sentence, or when a circle of 24 px around
// its middle touches no other target or its circle (WCAG 2.5.8, read). On the
// form of a check every control is to be 44 px (2.5.5, read).
const targetScript = `(function (least) {
	function shown(x) { var s = getComputedStyle(x); return s.visibility !== "hidden" && x.getClientRects().length > 0; }
	var all = [];
	document.querySelectorAll("a[href], button, select, textarea, summary, input:not([type=hidden])").forEach(function (x) {
		if (!shown(x) || x.closest(".skip")) { return; }
		var box = x, label = x.closest("label");
		if (label && /radio|checkbox/.test(x.type)) { box = label; }
		var r = box.getBoundingClientRect();
		if (box !== x && x.type === "radio") { // the drawn tile may be larger than its label's line
			label.querySelectorAll("*").forEach(function (y) { var q = y.getBoundingClientRect(); if (q.height > r.height && q.width >= r.width) { r = q; } });
		}
		for (var up = x.parentElement; up; up = up.parentElement) { // lines that are cut off are no target
			if (getComputedStyle(up).overflowY !== "visible") {
				var c = up.getBoundingClientRect();
				var top = Math.max(r.top, c.top), bottom = Math.min(r.bottom, c.bottom);
				if (bottom - top > 1) { r = new DOMRect(r.left, top, r.width, bottom - top); }
			}
		}
		if (r.width < 1 || r.height < 1) { return; }
		all.push({el: x, r: r, form: !!x.closest("form.check-form")});
	});
	function sentence(x) {
		if (x.tagName !== "A" || getComputedStyle(x).display !== "inline") { return false; }
		var p = x.closest("p, li, dd, td, caption, figcaption");
		return !!p && p.textContent.trim().length > x.textContent.trim().length + 3;
	}
	var out = [];
	all.forEach(function (a) {
		var w = a.r.width, h = a.r.height;
		var name = a.el.tagName.toLowerCase() + " " + (a.el.getAttribute("name") || a.el.textContent.replace(/\s+/g, " ").trim().slice(0, 40));
		var size = Math.round(w) + " x " + Math.round(h);
		if (a.form && least > 24 && (w < least - 0.5 || h < least - 0.5) && !sentence(a.el)) { out.push(name + ": " + size + ", want " + least); return; }
		if ((w >= 23.5 && h >= 23.5) || sentence(a.el)) { return; }
		var x = a.r.left + w / 2, y = a.r.top + h / 2;
		var close = all.filter(function (o) {
			if (o === a) { return false; }
			if (o.r.width < 24 || o.r.height < 24) {
				return Math.hypot(o.r.left + o.r.width / 2 - x, o.r.top + o.r.height / 2 - y) < 24;
			}
			var dx = Math.max(o.r.left - x, 0, x - o.r.right), dy = Math.max(o.r.top - y, 0, y - o.r.bottom);
			return Math.hypot(dx, dy) < 12;
		})[0];
		if (close) { out.push(name + ": " + size + ", too close to " + close.el.tagName.toLowerCase() + " " + close.el.textContent.trim().slice(0, 30)); }
	});
	return {Count: all.length, Small: out};
})`

func (b *tab) targets(name string, least int) {
	b.t.Helper()
	// Folded parts count as well: they open at a tap.
	eval[int](b, `(function (d) { d.forEach(function (x) { x.open = true; }); return d.length; })(document.querySelectorAll("form.check-form details"))`)
	r := eval[struct {
		Count int
		Small []string
	}](b, fmt.Sprintf("%s(%d)", targetScript, least))
	if r.Count == 0 {
		b.t.Errorf("%s: no targets were found", name)
	}
	for _, x := range r.Small {
		b.t.Errorf("%s: small target: %s", name, x)
	}
}

// still checks that nothing moves for people who ask for less motion.
func (b *tab) still(name string) {
	b.t.Helper()
	moving := eval[[]string](b, `(function () {
		var out = [];
		document.querySelectorAll("*").forEach(function (x) {
			var s = getComputedStyle(x);
			function long(v) { return v.split(",").some(function (d) { return parseFloat(d) > 0.01; }); }
			if ((s.animationName !== "none" && long(s.animationDuration)) || (s.transitionProperty !== "none" && long(s.transitionDuration)) || s.scrollBehavior === "smooth") { out.push(x.tagName + "." + x.getAttribute("class")); }
		});
		document.getAnimations().forEach(function (a) { if (a.playState === "running") { out.push("running animation"); } });
		return out;
	})()`)
	for _, x := range moving {
		b.t.Errorf("%s: moves in spite of reduced motion: %s", name, x)
	}
}

// named checks what axe-core does not: one main heading, a language, and a name,
// a table and a drawing for each chart.
func (b *tab) named(name string) {
	b.t.Helper()
	for _, x := range eval[[]string](b, `(function () {
		var out = [];
		if (document.querySelectorAll("h1").length !== 1) { out.push(document.querySelectorAll("h1").length + " main headings"); }
		if (!document.documentElement.lang) { out.push("no language"); }
		document.querySelectorAll("input, textarea").forEach(function (x) {
			if (x.hasAttribute("placeholder") || x.type === "number" || x.required || x.maxLength > 0) { out.push("field " + x.name + " has placeholder, number type, required or maxlength"); }
		});
		document.querySelectorAll("[style], [onclick], script:not([src]):not([type='application/json'])").forEach(function (x) {
			if (!x.closest("[data-chart]")) { out.push("inline style or script: " + x.outerHTML.slice(0, 100)); }
		});
		return out;
	})()`) {
		b.t.Errorf("%s: %s", name, x)
	}
}
