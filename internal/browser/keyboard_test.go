package browser

import (
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
		case typed[f.Name] != "":
			b.do(chromedp.KeyEvent(typed[f.Name]))
		case f.Kind == "radio" && f.Name != "on" && groups[f.Name] == 0:
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
	for _, name := range []string{"on", "temperature", "chiller", "air_pump", "dead_eggs", "stage", "water", "fungus", "note", "observer"} {
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
		n := 0
		for ; n < 150; n++ {
			b.do(chromedp.KeyEvent(kb.Tab))
			f := b.focus()
			if f.Kind == "body" {
				break
			}
			if f.Problem != "" {
				t.Errorf("%s: stop %s: %s", p.name, f.Name, f.Problem)
			}
			if n == 0 && f.Name != "Go to the main part" {
				t.Errorf("%s: the first stop is %q, not the link over the head", p.name, f.Name)
			}
		}
		if n < p.stops || n == 150 {
			t.Errorf("%s: %d stops", p.name, n)
		}
	}
}
