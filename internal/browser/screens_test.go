package browser

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

func navigate(url string) chromedp.Action[chromedp.Void] { return chromedp.Navigate(url) }

// TestBoard: 12 tanks fit on one screen of 1280 x 800, worst first, each with a
// ruler and a sparkline, and the filters work.
func TestBoard(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.open("/board")
	if n := b.count("table.board tbody tr"); n != 12 {
		t.Errorf("%d tanks on the board, want 12", n)
	}
	if h := eval[int](b, `document.scrollingElement.scrollHeight`); h > 800 {
		t.Errorf("the board is %d px high, %d more than the screen", h, h-800)
	}
	if w := eval[int](b, `document.scrollingElement.scrollWidth`); w > 1280 {
		t.Errorf("the board is %d px wide", w)
	}
	// The same in French, whose words are longer.
	b.click(`form.language button[value="fr"]`)
	if h := eval[int](b, `document.scrollingElement.scrollHeight`); h > 800 {
		t.Errorf("the board in French is %d px high, %d more than the screen", h, h-800)
	}
	if cut := eval[int](b, `Array.prototype.filter.call(document.querySelectorAll("table.board td > *"), function (x) { return x.scrollWidth > x.parentNode.clientWidth + 1; }).length`); cut > 0 {
		t.Errorf("%d cells of the board in French hold more than fits", cut)
	}
	b.click(`form.language button[value="en"]`)
	order := eval[string](b, `Array.prototype.map.call(document.querySelectorAll("table.board tbody tr"), function (r) { return r.className.replace("s-", ""); }).join(" ")`)
	rank := map[string]int{"act": 0, "no_check": 1, "watch": 2, "due": 3, "fine": 4}
	last := 0
	for _, st := range strings.Fields(order) {
		r, ok := rank[st]
		if !ok {
			t.Errorf("status %q", st)
		}
		if st != "no_check" && r < last {
			t.Errorf("not worst first: %s", order)
			break
		}
		if st != "no_check" {
			last = r
		}
	}
	if n := b.count("table.board .status"); n != 12 {
		t.Errorf("%d of 12 tanks show a status", n)
	}
	if n := b.count("table.board tbody tr:has(.c-ruler svg):has(.c-temp svg)"); n != 12 {
		t.Errorf("%d of 12 tanks have a ruler and a sparkline", n)
	}
	b.says("Room 12", "Wet lab", "Local 204")

	wet := s.season("Wet lab", true)
	b.choose("site", string(wet.Site.ID))
	b.click("form.filters button")
	if n := b.count("table.board tbody tr"); n != 2 {
		t.Errorf("%d tanks of Northquill School, want 2", n)
	}
	b.open("/board?status=act")
	if n, all := b.count("table.board tbody tr"), b.count("table.board tbody tr.s-act"); n == 0 || n != all {
		t.Errorf("%d tanks shown, %d of them with the status asked for", n, all)
	}
	b.click("table.board tbody th a")
	b.seen("#flags")
}

// TestTankPage: flags with what to do, ruler, charts that are drawn, the same
// numbers as tables, the log.
func TestTankPage(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.visit(place{name: "tank", path: seasonPath(s.season("Wet lab", true), ""), charts: true})
	if b.count("main .status") == 0 || b.count("section[aria-labelledby=flags] article, section[aria-labelledby=flags] .flag") == 0 {
		t.Error("no status or no flag of a tank with many deaths")
	}
	if b.count("section[aria-labelledby=development] svg") == 0 {
		t.Error("no development ruler")
	}
	// Flags, ruler, what comes next and a chart stand within two screens.
	for _, css := range []string{".flag", "section[aria-labelledby=next]", ".ruler svg", "figure.chart .plot"} {
		if end := eval[float64](b, `document.querySelector(`+quote(css)+
			`).getBoundingClientRect().bottom + scrollY`); end > 1600 {
			t.Errorf("%s ends at %.0f px, at most 1600", css, end)
		}
	}
	b.visit(place{name: "charts", path: b.path() + "/charts", charts: true})
	if n := b.count("figure.chart"); n != 3 {
		t.Errorf("%d figures among the charts", n)
	}
	for _, name := range []string{"temperature", "development", "dead"} {
		figure := "#figure-" + name
		if b.count(figure+" [data-chart] svg path") == 0 {
			t.Errorf("the chart of %s is not drawn", name)
		}
		if b.count(figure+` [data-chart][role=img][aria-label]`) != b.count(figure+" [data-chart]") {
			t.Errorf("a chart of %s has no name", name)
		}
		if b.count(figure+" table tbody tr") < 10 || b.count(figure+" table caption") != 1 {
			t.Errorf("no table of the numbers of %s", name)
		}
		if b.count(figure+` a[href*=".csv"]`) != 1 {
			t.Errorf("no CSV of the numbers of %s", name)
		}
	}
	// The colours follow when the room gets dark, without a reload.
	light := eval[string](b, chartInk)
	b.media("dark", false)
	dark := eval[string](b, `new Promise(function (done) { setTimeout(function () { done(`+chartInk+`); }, 400); })`)
	if light == dark {
		t.Errorf("the chart keeps its colours in the dark: %s", light)
	}
	b.click(`nav.tabs a[href$="/log"]`)
	if b.count("table.log tbody tr") == 0 {
		t.Error("no log")
	}
}

const chartInk = `Array.prototype.map.call(document.querySelectorAll("[data-chart] svg text"), function (x) { return x.getAttribute("fill"); }).join(" ")`

// TestOtherPages opens the pages of a coordinator and looks for what they are for.
func TestOtherPages(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.open("/rules")
	b.says("Temperature", "Source")
	b.open("/sites")
	b.says("Birchlight School", "Tidewhistle School")
	b.open("/lots")
	b.says("MOSS-7", "Atlantic salmon")
	b.open("/people/new")
	b.choose("role", "keeper")
	b.choose("site", string(s.season("Library", true).Site.ID))
	b.fill("label", "Keeper of the library")
	b.fill("passphrase", passphrase)
	b.fill("again", passphrase)
	b.click("main form button.primary")
	b.open("/people")
	b.says("Keeper of the library", "Birchlight School")
	b.axe("people")
	b.narrow("people")
	b.targets("people", 24)
	b.open("/sites/new")
	b.fill("name", "Otter Creek School")
	b.choose("zone", "America/Halifax")
	b.choose("language", "en")
	b.choose("temperature_unit", "Cel")
	b.click("main form button.primary")
	b.says("Otter Creek School")
	b.open(b.path() + "/tanks/new")
	b.fill("name", "Corridor")
	b.fill("volume_l", "40")
	b.choose("volume_unit", "us_gal")
	b.choose("wall", "bare")
	b.click("main form button.primary")
	b.says("Corridor")
	b.axe("school with a tank that has no season")
	b.click(`a[href$="/seasons/new"]`)
	b.axe("new season")
	b.narrow("new season")
	b.targets("new season", 24)
}

// TestImport reads a logger file whose dates can be read in two ways: it asks,
// shows what it would store, stores it, and the same file again changes nothing.
func TestImport(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("keeper")
	season := s.season("Library", true)
	before := len(season.Readings)
	file := filepath.Join(t.TempDir(), "logger.csv")
	data := "date;temp C\n03/02/2026 08:00;5,1\n03/02/2026 20:00;5,3\n04/02/2026 08:00;5,2\nno date;5,0\n04/02/2026 20:00;5,4\n"
	if err := os.WriteFile(file, []byte(data), 0o600); err != nil {
		t.Fatal(err)
	}
	upload := func() {
		t.Helper()
		b.open(seasonPath(season, "/import"))
		b.do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file}))
		b.click(`form:has(#file) button.primary`)
		if b.count("fieldset#date_order") != 1 {
			t.Fatalf("03/02/2026 is taken without a question: %s", b.text())
		}
		if b.count("fieldset#date_order input:checked") != 0 {
			t.Error("an answer about the file is chosen before anybody looked")
		}
		b.choose("date_order", "dmy")
		b.click(`#asked ~ .actions button[value=show]`)
	}
	upload()
	b.says("5,1") // as it stands in the file
	b.axe("import preview")
	b.narrow("import preview")
	if got := len(s.season("Library", true).Readings); got != before {
		t.Errorf("%d readings stored by looking, want %d", got, before)
	}
	b.click(`button[value=store]`)
	b.says("no date") // the refused row, with its line
	got := s.season("Library", true).Readings
	if len(got) != before+4 {
		t.Fatalf("%d readings, want %d", len(got), before+4)
	}
	upload()
	if b.count(`button[value=store]`) > 0 {
		b.click(`button[value=store]`)
	}
	if n := len(s.season("Library", true).Readings); n != before+4 {
		t.Errorf("%d readings after the same file again, want %d", n, before+4)
	}
}

// TestWithoutScript does the main job with scripts switched off.
func TestWithoutScript(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base)
	b.withoutScript()
	b.as("class")
	b.open("/board")
	if b.count("table.board tbody tr:has(.c-ruler svg):has(.c-temp svg)") != 3 {
		t.Error("the board of the class does not show its 3 tanks with rulers and sparklines")
	}
	b.open(seasonPath(s.season("Room 3", true), ""))
	if n, open := b.count("details.numbers"), b.count("details.numbers[open]"); n == 0 || n != open {
		t.Errorf("%d tables of numbers, %d of them open", n, open)
	}
	b.open(seasonPath(s.season("Room 3", true), "/checks/new"))
	b.fill("temperature", "5.7")
	b.choose("air_pump", "running")
	b.fill("ph", "7.1") // in a fold
	b.click(saveButton)
	b.wantStored()
	b.click(`a[href$="/correct"]`)
	b.fill("temperature", "5.6")
	b.press("fieldset#reason label.tile")
	b.click(saveButton)
	b.wantStored()
	b.says("5.6\u00a0°C", "5.7\u00a0°C")
}

// TestPrint prints the tank page and the board on both papers.
func TestPrint(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.media("dark", false) // paper is white all the same
	for _, p := range []place{
		{name: "Wet lab", path: seasonPath(s.season("Wet lab", true), ""), charts: true},
		{name: "Room 12", path: "/board"},
	} {
		b.visit(p)
		for name, paper := range map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter} {
			pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.HasPrefix(pdf, []byte("%PDF-")) || len(pdf) < 5000 {
				t.Errorf("%s on %s: %d bytes", p.name, name, len(pdf))
			}
			b.wantPrinted(p.name+" on "+name, pdf, p.name)
		}
	}
}
