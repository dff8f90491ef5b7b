package browser

// focused is the element that has the focus.
type focused struct {
	Name    string // name, id or text
	Kind    string // "radio", "save", or the element's type or tag
	Problem string // what a person who looks for the focus would miss
}

// focusScript finds the visible part of the focused element: a radio button in a
// tile shows its focus on the tile. Two things must hold (WCAG 2.4.7 and 2.4.11,
// read): an outline is drawn, and the element's middle is in view and on top.
const focusScript = `(function () {
	var el = document.activeElement, out = {Name: "", Kind: "", Problem: ""};
	if (!el || el === document.body) { return {Name: "body", Kind: "body", Problem: ""}; }
	out.Name = el.getAttribute("name") || el.id || el.textContent.replace(/\s+/g, " ").trim().slice(0, 40);
	out.Kind = el.classList.contains("save") ? "save" : (el.type || el.tagName.toLowerCase());
	var shown = [el], label = el.closest("label");
	if (label) { shown.push(label); label.querySelectorAll("*").forEach(function (x) { shown.push(x); }); }
	function clear(c) { return c === "transparent" || /, 0\)$|\/ 0\)$/.test(c); }
	var ring = shown.filter(function (x) {
		var s = getComputedStyle(x);
		return s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 1 && !clear(s.outlineColor) && parseFloat(s.opacity) > 0;
	})[0];
	if (!ring) { out.Problem = "no outline shows the focus"; return out; }
	var r = ring.getBoundingClientRect();
	if (r.width < 2 || r.height < 2) { out.Problem = "the focus outline is on something of no size"; return out; }
	/* What is taller than the window is looked for where it is in view. */
	var x = r.left + r.width / 2, y = r.height > innerHeight ? (Math.max(r.top, 0) + Math.min(r.bottom, innerHeight)) / 2 : r.top + r.height / 2;
	if (x < 0 || y < 0 || x > innerWidth || y > innerHeight) { out.Problem = "out of view at " + Math.round(x) + ", " + Math.round(y); return out; }
	var top = document.elementFromPoint(x, y);
	if (!top || !(ring.contains(top) || top.contains(ring) || (label && label.contains(top)))) {
		out.Problem = "covered by " + (top ? top.tagName + "." + top.className : "nothing");
	}
	return out;
})()`

func (b *tab) focus() focused {
	b.t.Helper()
	return eval[focused](b, focusScript)
}
