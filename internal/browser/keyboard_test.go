package browser

import (
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestCheckByKeyboard fills and sends the form with the keyboard alone: every
// stop shows its focus and lies in view, and every control is a stop.
func TestCheckByKeyboard(t *testing.T) {
	t.Parallel()
	s, b := onCheckForm(t, "Room 3")
	b.size(820, 700)
	n := len(s.season("Room 3", true).Checks)
	typed := map[string]string{"temperature": "5.6", "dead_eggs": "0", "note": "By keyboard.", "observer": "Group 2"}
	groups := map[string]int{} // tiles to walk with arrows
	var stops []string
	for range 120 {
		b.do(chromedp.KeyEvent(kb.Tab))
		f := b.focus()
		stops = append(stops, f.Name)
		if f.Problem != "" {
			t.Errorf("stop %s: %s", f.Name, f.Problem)
		}
		switch {
		case f.Kind == "save":
			b.wantKeyboardStops(stops)
			b.load(200, chromedp.KeyEvent(kb.Enter))
			b.wantStored()
			b.says("5.6\u00a0°C", "By keyboard.", "Group 2", "running", "clear", "eyed egg")
			if got := len(s.season("Room 3", true).Checks); got != n+1 {
				t.Errorf("%d checks, want %d", got, n+1)
			}
			return
		case f.Kind == "summary":
			b.do(chromedp.KeyEvent(kb.Enter)) // what is folded opens
		case typed[f.Name] != "":
			b.do(chromedp.KeyEvent(typed[f.Name]))
		case f.Kind == "radio" && f.Name != "on" && f.Name != "dead_cause" && groups[f.Name] == 0:
			groups[f.Name]++
			b.do(chromedp.KeyEvent(" "))
			if f.Name == "stage" { // from green egg to eyed egg
				b.do(chromedp.KeyEvent(kb.ArrowRight))
			}
			if b.value(f.Name) == "" {
				t.Errorf("the keyboard does not choose in %s", f.Name)
			}
		}
	}
	t.Fatalf("the save button is no stop; stops: %s", strings.Join(stops, ", "))
}

func (b *tab) wantKeyboardStops(stops []string) {
	b.t.Helper()
	have := " " + strings.Join(stops, " ") + " "
	for _, name := range []string{"on", "temperature", "chiller", "air_pump", "dead_eggs", "stage", "water", "fungus",
		"note", "observer"} {
		if !strings.Contains(have, " "+name+" ") {
			b.t.Errorf("%s is no stop; stops:%s", name, have)
		}
	}
}

// TestKeyboardElsewhere walks through pages with the tab key: every stop shows
// its focus and is in view, and the walk comes to an end. The form of a check is
// walked through in a window of 320 x 256, which is 1280 x 1024 at 400 % zoom.
func TestKeyboardElsewhere(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("keeper")
	wet := s.season("Library", true)
	for _, p := range []struct {
		place
		w, h  int64
		stops int
	}{
		{place{name: "board", path: "/board"}, 1280, 800, 10},
		{place{name: "tank", path: seasonPath(wet, ""), charts: true}, 820, 1180, 15},
		{place{name: "check form at 400 %", path: seasonPath(wet, "/checks/new")}, 320, 256, 15},
		{place{name: "import", path: seasonPath(wet, "/import")}, 390, 844, 8},
	} {
		b.size(p.w, p.h)
		b.visit(p.place)
		if n := b.walk(p.name); n < p.stops {
			t.Errorf("%s: %d stops", p.name, n)
		}
	}
}

// TestEveryPageByKeyboard walks through every main page. It takes a minute, so it
// is asked for by REDDSIDE_AUDIT=full.
func TestEveryPageByKeyboard(t *testing.T) {
	if os.Getenv("REDDSIDE_AUDIT") != "full" {
		t.Skip("REDDSIDE_AUDIT=full walks through every page with the tab key")
	}
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.size(1280, 800)
	for _, p := range places(s) {
		b.visit(p)
		b.walk(p.name)
	}
}

// walk goes through a page with the tab key until the walk ends, and returns the
// number of stops.
func (b *tab) walk(name string) int {
	b.t.Helper()
	const most = 400
	for n := range most {
		b.do(chromedp.KeyEvent(kb.Tab))
		f := b.focus()
		switch {
		case f.Kind == "body":
			return n
		case f.Problem != "":
			b.t.Errorf("%s: stop %s: %s", name, f.Name, f.Problem)
		}
		if n == 0 && f.Name != "Go to the main part" {
			b.t.Errorf("%s: the first stop is %q, not the link over the head", name, f.Name)
		}
	}
	b.t.Errorf("%s: the walk with the tab key does not end", name)
	return most
}
