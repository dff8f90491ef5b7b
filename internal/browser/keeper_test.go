package browser

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// fourTanks moves the demonstration to the next morning, on which nobody has
// looked yet, and gives Birchlight School a fourth tank.
func fourTanks(t *testing.T) (*site, []*logbook.Season) {
	t.Helper()
	s := demoSite(t)
	ctx, boss := context.Background(), logbook.Actor{Role: logbook.Coordinator, Label: "Coordinator"}
	like := s.season("Library", true)
	tank, err := s.db.CreateTank(ctx, boss, logbook.Tank{SiteID: like.Site.ID, Name: "Stairwell", Volume: 150,
		Wall:     logbook.Insulated,
		Setpoint: like.Tank.Setpoint, HasChiller: true, HasFilter: true}, testNow, store.IdempotencyKey{})
	if err != nil {
		t.Fatal(err)
	}
	first := like.Deliveries[0]
	first.ID, first.Entry = "", logbook.Entry{}
	if _, err := s.db.StartSeason(ctx, boss, logbook.Season{Label: like.Label, Tank: tank, Lot: like.Lot}, first,
		testNow, store.IdempotencyKey{}); err != nil {
		t.Fatal(err)
	}
	s.now.Store(testNow.Add(24 * time.Hour).Unix())
	var out []*logbook.Season
	for _, name := range []string{"Library", "Room 12", "Room 3", "Stairwell"} {
		out = append(out, s.season(name, true))
	}
	return s, out
}

// TestMorningFitsOneScreen: four tanks on a laptop without scrolling; on a phone
// nothing is wider than the screen.
func TestMorningFitsOneScreen(t *testing.T) {
	t.Parallel()
	s, _ := fourTanks(t)
	b := newTab(t, s.base).as("keeper")
	b.size(1280, 800)
	b.open("/morning")
	if n := b.count(".morning-tank"); n != 4 {
		t.Errorf("%d tanks, want 4", n)
	}
	// The last line of the last tank is in view; the foot of the page may follow.
	if h := eval[int](b, `Math.round(document.querySelector(".morning-tanks").getBoundingClientRect().bottom)`); h > 800 {
		t.Errorf("the tanks end at %d px, %d more than the screen", h, h-800)
	}
	b.size(390, 844)
	b.open("/morning")
	if w := eval[int](b, `document.scrollingElement.scrollWidth`); w > 390 {
		t.Errorf("the page is %d px wide on a phone", w)
	}
	b.targets("morning", 44)
}

// TestRoundByKeyboard enters four tanks with the keyboard alone: from row to row
// with Tab, and saves with Enter.
func TestRoundByKeyboard(t *testing.T) {
	t.Parallel()
	s, tanks := fourTanks(t)
	b := newTab(t, s.base).as("keeper")
	b.size(1280, 800)
	b.open("/sites/" + string(tanks[0].Site.ID) + "/round")
	warm := map[string]float64{}
	for _, k := range tanks {
		warm[k.Tank.Name] = 6
		if last := k.LastCheck(k.StartedOn().AddDays(400)); last != nil && last.Temperature.OK {
			warm[k.Tank.Name] = float64(last.Temperature.V)
		}
	}
	var order []string
	keys := 0
	for range 80 {
		b.do(chromedp.KeyEvent(kb.Tab))
		keys++
		f := b.focus()
		if f.Problem != "" {
			t.Errorf("stop %s: %s", f.Name, f.Problem)
		}
		if f.Kind == "save" {
			b.load(200, chromedp.KeyEvent(kb.Enter))
			break
		}
		for _, k := range tanks {
			field, ok := strings.CutPrefix(f.Name, string(k.ID)+"_")
			if !ok {
				continue
			}
			switch field {
			case "temperature":
				order = append(order, k.Tank.Name)
				b.do(chromedp.KeyEvent(fmt.Sprintf("%.1f", warm[k.Tank.Name])))
			case "gear":
				b.do(chromedp.KeyEvent("A")) // All running
			case "dead_eggs":
				b.do(chromedp.KeyEvent("0"))
			}
		}
	}
	if got := strings.Join(order, ", "); got != "Library, Room 3, Room 12, Stairwell" {
		t.Errorf("the Tab key went to %s", got)
	}
	b.says("4 tanks are saved")
	for _, k := range tanks {
		now := s.season(k.Tank.Name, true)
		c := &now.Checks[len(now.Checks)-1]
		if len(now.Checks) != len(k.Checks)+1 || !c.Temperature.OK || c.Chiller != logbook.Running ||
			c.Filter != logbook.Running && c.Filter != logbook.NotFitted {
			t.Errorf("%s: %d checks, the last %+v", k.Tank.Name, len(now.Checks), c)
		}
	}
	t.Logf("%d Tab keys for four tanks", keys)
}

// TestBoardWithNotes: a note in each of twelve tanks makes no row of the board
// higher than it is without.
func TestBoardWithNotes(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	ctx := context.Background()
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{OpenOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range heads {
		by := logbook.Actor{Role: logbook.Keeper, SiteID: h.SiteID, Label: "Keeper"}
		if _, err := s.db.CreateNote(ctx, by, logbook.Note{SeasonID: h.ID, Body: "Is the new filter in?", Asks: true},
			testNow, store.IdempotencyKey{}); err != nil {
			t.Fatal(err)
		}
	}
	b := newTab(t, s.base).as("coordinator")
	b.size(1280, 800)
	b.open("/board")
	if n := b.count(".row-notes"); n != 12 {
		t.Errorf("%d rows tell of notes, want 12", n)
	}
	if h := eval[int](b, `document.scrollingElement.scrollHeight`); h > 800 {
		t.Errorf("the board is %d px high, %d more than the screen", h, h-800)
	}
}
