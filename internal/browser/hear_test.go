package browser

import (
	"strings"
	"testing"
	"time"
)

// TestTabHears makes a page misbehave: a tab that hears nothing would let every
// other test pass.
func TestTabHears(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base)
	b.open("/sign-in")
	eval[bool](b, `(function () {
		console.error("made to fail");
		document.querySelector("h1").setAttribute("style", "color: red");
		setTimeout(function () { window.thrown = true; throw new Error("thrown to fail"); }, 0);
		return true;
	})()`)
	// The page must not be left before its timer has run.
	for range 100 {
		if eval[bool](b, `window.thrown === true`) {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	b.load(200, navigate(s.lan()+"/sign-in"))
	want := []string{"made to fail", "content policy: style-src-attr", "content policy issue:", "thrown to fail",
		"request leaves the host: " + s.lan()}
	var all string
	for range 100 {
		b.mu.Lock()
		all = strings.Join(b.complaints, "\n")
		b.mu.Unlock()
		missing := false
		for _, w := range want {
			missing = missing || !strings.Contains(all, w)
		}
		if !missing {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	for _, w := range want {
		if !strings.Contains(all, w) {
			t.Errorf("the tab did not hear %q, only:\n%s", w, all)
		}
	}
	b.mu.Lock()
	b.complaints = nil
	b.mu.Unlock()
}
