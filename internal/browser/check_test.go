package browser

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

const saveButton = "form.check-form button.save"

// observed are the fields that only a look at the tank can fill.
var observed = []string{"temperature", "chiller", "air_pump", "dead_eggs", "stage", "hatched", "water", "fungus", "ph",
	"note"}

// onCheckForm opens the form of a new check of a tank of the first school of
// the demonstration, which its class may see. Room 3 has no check today.
func onCheckForm(t *testing.T, tank string) (*site, *tab) {
	t.Helper()
	s := demoSite(t)
	b := newTab(t, s.base).as("class")
	b.open(seasonPath(s.season(tank, true), "/checks/new"))
	return s, b
}

// wantStored checks that the page shows a stored entry.
func (b *tab) wantStored() {
	b.t.Helper()
	if b.count("[data-stored]") != 1 || !strings.HasPrefix(b.path(), "/checks/") {
		b.t.Fatalf("no stored entry at %s: %.600s", b.where(), b.text())
	}
}

// wantSummary checks that the form came back with the focus on its summary, and
// that the title says so.
func (b *tab) wantSummary() {
	b.t.Helper()
	// The browser moves the focus when it first paints: on a busy machine later.
	b.until("the focus on the summary", `document.activeElement.id === "summary"`)
	if title := eval[string](b, `document.title`); !strings.HasPrefix(title, "Error:") {
		b.t.Errorf("title %q does not begin with Error:", title)
	}
}

func TestCheckSaved(t *testing.T) {
	t.Parallel()
	s, b := onCheckForm(t, "Room 3")
	before := len(s.season("Room 3", true).Checks)
	for _, name := range observed {
		if v := b.value(name); v != "" {
			t.Errorf("%s is filled in before anybody looked: %q", name, v)
		}
	}
	b.fill("temperature", "5,5") // a decimal comma
	b.choose("chiller", "running")
	b.choose("air_pump", "running")
	b.fill("dead_eggs", "1")
	b.choose("stage", "eyed_egg")
	b.choose("water", "clear")
	b.fill("note", "The eggs lie still.")
	b.fill("observer", "Group 3")
	x, y := b.point(saveButton)
	b.load(200, chromedp.MouseClickXY(x, y, chromedp.ClickCount(1)), chromedp.MouseClickXY(x, y)) // a double tap
	b.wantStored()
	b.says("5.5\u00a0°C", "running", "The eggs lie still.", "Group 3")
	season := s.season("Room 3", true)
	c := season.Checks[len(season.Checks)-1]
	if got, ok := c.Temperature.Get(); !ok || got != 5.5 || c.TemperatureEntered != "5,5" || c.DeadEggs.V != 1 {
		t.Errorf("stored: %+v", c)
	}
	// The draft is gone once the entry is stored.
	if n := eval[int](b, `Object.keys(localStorage).filter(function (k) { return k.indexOf("reddside.draft.") === 0; }).length`); n != 0 {
		t.Errorf("%d drafts are left", n)
	}
	if len(season.Checks) != before+1 {
		t.Errorf("%d checks, want %d: a double tap stored more than one", len(season.Checks), before+1)
	}
	// Going back shows that the day has its check, and an empty form: the browser
	// puts no old answer in.
	b.do(chromedp.NavigateBack())
	b.seen(".taken")
	for _, name := range observed {
		if v := b.value(name); v != "" {
			t.Errorf("%s is filled in after going back: %q", name, v)
		}
	}
}

func TestCheckAsksOnce(t *testing.T) {
	t.Parallel()
	_, b := onCheckForm(t, "Room 3")
	b.fill("temperature", "14")
	b.choose("chiller", "running")
	b.clickFor(422, saveButton)
	b.wantSummary()
	if v := b.value("temperature"); v != "14" {
		t.Errorf("temperature %q, want 14 as typed", v)
	}
	if v := b.value("chiller"); v != "running" {
		t.Errorf("chiller %q, want running", v)
	}
	// Question and answer stand on the screen.
	if !eval[bool](b, onScreen(`#summary button`)) || !eval[bool](b, onScreen(`#summary a.button`)) {
		t.Error("the answers to the question are not on the screen")
	}
	// A value that is changed meanwhile is asked about again.
	b.press(`#summary a.button`)
	if id := eval[string](b, `document.activeElement.id`); id != "temperature" {
		t.Errorf("Change leads to %q", id)
	}
	b.fill("temperature", "15")
	b.clickFor(422, `#summary button`)
	b.wantSummary()
	b.click(`#summary button`)
	b.wantStored()
	b.says("15.0\u00a0°C")
}

func TestCheckKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	_, b := onCheckForm(t, "Room 3")
	b.fill("temperature", "cold")
	b.choose("chiller", "stopped")
	b.fill("dead_eggs", "two")
	b.choose("water", "cloudy")
	b.fill("ph", "7,2") // folded away at first
	b.fill("note", "We <b>saw</b> foam & \"bubbles\".")
	b.fill("observer", "Group 1")
	b.clickFor(422, saveButton)
	b.wantSummary()
	for name, want := range map[string]string{"temperature": "cold", "chiller": "stopped", "dead_eggs": "two",
		"water": "cloudy",
		"ph":    "7,2", "note": "We <b>saw</b> foam & \"bubbles\".", "observer": "Group 1", "air_pump": ""} {
		if got := b.value(name); got != want {
			t.Errorf("%s holds %q, want %q", name, got, want)
		}
	}
	// Each line of the summary leads to its field, with the same words.
	if n := b.count("#summary a"); n != 2 {
		t.Fatalf("%d problems in the summary, want 2: %s", n, b.text())
	}
	b.press(`#summary a[href="#temperature"]`)
	if id := eval[string](b, `document.activeElement.id`); id != "temperature" {
		t.Errorf("the link leads to %q", id)
	}
	same := eval[bool](b, `document.querySelector('#summary a[href="#temperature"]').textContent.endsWith(document.getElementById("temperature-problem").textContent)`)
	if !same {
		t.Error("the summary and the field use different words")
	}
	if id := eval[string](b, `document.getElementById("temperature").getAttribute("aria-describedby")`); !strings.Contains(id, "temperature-problem") {
		t.Errorf("the problem is not tied to its field: %q", id)
	}
}

func TestCheckDraftComesBack(t *testing.T) {
	t.Parallel()
	s, b := onCheckForm(t, "Room 3")
	form := seasonPath(s.season("Room 3", true), "/checks/new")
	b.fill("temperature", "5.1")
	b.choose("water", "clear")
	b.open("/board")
	b.open(form)
	if v := b.value("temperature"); v != "5.1" {
		t.Errorf("temperature %q after coming back, want the draft's 5.1", v)
	}
	if eval[bool](b, `document.querySelector("[data-draft-banner]").hidden`) {
		t.Error("nothing says that a draft was put back")
	}
	b.press("[data-draft-discard]")
	if v := b.value("temperature") + b.value("water"); v != "" {
		t.Errorf("%q is left after the draft was discarded", v)
	}
	b.open(form)
	if v := b.value("temperature"); v != "" {
		t.Errorf("a discarded draft came back: %q", v)
	}
}

// The day has one check: a second one is compared, not added.
func TestCheckSecondForTheDay(t *testing.T) {
	t.Parallel()
	s, b := onCheckForm(t, "Room 3")
	b.fill("temperature", "5.4")
	b.click(saveButton)
	b.wantStored()
	n := len(s.season("Room 3", true).Checks)
	b.open(seasonPath(s.season("Room 3", true), "/checks/new?slot=morning"))
	b.fill("temperature", "5.8")
	b.clickFor(0, saveButton)
	if got := len(s.season("Room 3", true).Checks); got != n {
		t.Fatalf("%d checks, want %d: a second one was stored without a question", got, n)
	}
	b.says("5.4", "5.8")
}

func TestCorrection(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("keeper")
	season := s.season("Room 12", true)
	c := season.Checks[len(season.Checks)-1]
	b.open("/checks/" + string(c.ID))
	b.click(`a[href="/checks/` + string(c.ID) + `/correct"]`)
	old := b.value("temperature")
	if old == "" {
		t.Fatal("the form of the correction does not hold what is stored")
	}
	b.fill("temperature", "8.1")
	b.clickFor(422, saveButton) // no reason yet
	b.wantSummary()
	if v := b.value("temperature"); v != "8.1" {
		t.Errorf("temperature %q, want 8.1", v)
	}
	b.press(`fieldset#reason label.tile`)
	b.fill("reason_text", "The thermometer was read upside down.")
	b.click(saveButton)
	b.wantStored()
	b.says("8.1\u00a0°C", "The thermometer was read upside down.")
	if b.count("details.past") != 1 {
		t.Error("what stood there before is not shown")
	}
	past := eval[string](b, `document.querySelector("details.past").textContent`)
	if !strings.Contains(past, strings.ReplaceAll(old, ",", ".")) {
		t.Errorf("the old value %s is not in the history: %s", old, past)
	}
	b.open(seasonPath(season, "/log"))
	if b.count(`table.log tr:has(a[href="/checks/`+string(c.ID)+`"]) .mark, table.log tr:has(a[href="/checks/`+
		string(c.ID)+`"]) .history`) == 0 {
		t.Error("the log does not mark the corrected check")
	}
}
