package web

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/units"
	"reddside/internal/web/board"
	"reddside/internal/web/ui"
)

func TestComparePage(t *testing.T) {
	ts := newTestServer(t)
	boss := ts.as(ts.coordinator)
	boss.get("/comparison").want(t, 200, "Compare tanks fairly", "3 tanks that began with this stage: eyed egg",
		"Fewer than two tanks have reached hatch")
	for _, s := range []*logbook.Season{ts.one, ts.two, ts.far} {
		ts.look(s, testToday.AddDays(-1).String(), func(c *logbook.Check) {
			c.DeadEggs, c.Stage = units.Some(5),
				logbook.Alevin
		})
	}
	boss.get("/comparison").want(t, 200, "At the hatch", "3 tanks. In the middle one, 97 in 100 are alive.",
		"So no tank is marked as unusual").
		lacks(t, "lower than luck usually explains; ask", `class="low"`)
	ts.as(ts.class).get("/comparison").want(t, 403)
	ts.as(ts.keeper).get("/comparison").want(t, 403)
}

var funnelDots = regexp.MustCompile(`<circle class="tank" cx="([\d.]+)" cy="([\d.]+)"`)

// An invented programme of a hundred tanks, three of them bad.
func TestCompareHundredTanksOnThePage(t *testing.T) {
	ts, rng := newTestServer(t), rand.New(rand.NewPCG(11, 12))
	var all report.Comparison
	for i := range 100 {
		eggs, p := 60+rng.IntN(200), 1/(1+math.Exp(-2.6-0.4*rng.NormFloat64()))
		if i%40 == 7 {
			p = 0.6
		}
		dead := 0
		for range eggs {
			if rng.Float64() > p {
				dead++
			}
		}
		s := &logbook.Season{ID: logbook.ID(fmt.Sprint("s", i)), Label: "2025-26",
			Lot: logbook.Lot{Species: logbook.AtlanticSalmon, Supplier: "Invented"}}
		s.Site.Name, s.Tank.Name = fmt.Sprintf("School %02d", 99-i), "Tank"
		s.Deliveries = []logbook.Delivery{{On: testToday.AddDays(-40), Count: eggs, Stage: logbook.EyedEgg}}
		s.Checks = []logbook.Check{{On: testToday.AddDays(-9), DeadEggs: units.Some(dead), Stage: logbook.Alevin}}
		all.Add(s, testToday)
	}
	groups := all.Groups()
	if len(groups) != 1 {
		t.Fatal(len(groups))
	}
	p := ts.Cat.Printer("en", units.Cel)
	m := board.ComparePage{Page: ui.Page{P: p, Title: "x", Role: logbook.Coordinator},
		Groups: []board.CompareGroup{board.CompareTanks(p, groups[0], 0)}}
	var b strings.Builder
	if err := board.ComparePageView(m).Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	drawing := page[strings.Index(page, `<svg class="plot-funnel"`):]
	drawing = drawing[:strings.Index(drawing, "</svg>")]
	dots := funnelDots.FindAllStringSubmatch(drawing, -1)
	if low := strings.Count(drawing, `<path class="low"`); len(dots) != 97 || low != 3 {
		t.Errorf("%d dots, %d low marks", len(dots), low)
	}
	for _, d := range dots {
		x, _ := strconv.ParseFloat(d[1], 64)
		y, _ := strconv.ParseFloat(d[2], 64)
		if x < 60 || x > 706 || y < 20 || y > 350 {
			t.Errorf("a dot at %v, %v is outside the drawing", x, y)
		}
	}
	if n := strings.Count(page, "lower than luck usually explains; ask what was different"); n != 3 {
		t.Errorf("%d tanks named in the table", n)
	}
	if strings.Contains(page, "worst") || strings.Contains(page, "best") || strings.Contains(page, "rank ") {
		t.Error("the page ranks")
	}
	if a, z := strings.Index(page, "Tank, School 00"), strings.LastIndex(page, "Tank, School 99"); a < 0 || a > z {
		t.Error("the table is not in order of the alphabet")
	}
}
