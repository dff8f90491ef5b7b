package web

import (
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

const testDay = "2026-02-10"

// plainCheck is a check with nothing wrong, as a form sends it.
func plainCheck(more ...string) url.Values {
	f := fields("on", testDay, "slot", "morning", "temperature", "7.5", "chiller", "running", "filter", "running",
		"dead_eggs", "0", "stage", "eyed_egg", "water", "clear", "observer", "Group 3")
	for i := 0; i+1 < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return f
}

var checkedInput = regexp.MustCompile(`<input[^>]*\schecked[^>]*>`)

// Requirements F8 and Q6: nothing observed is chosen beforehand; F4: numbers are
// text fields.
func TestCheckFormStartsEmpty(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	p := b.get(seasonPath(ts.one, "checks/new")).want(t, 200, "Check of Tank 1", "Water temperature, in °C",
		"Today, Tuesday 10 February",
		"Yesterday, Monday 9 February", "All running: chiller, filter", `name="key"`, "No names of people",
		`class="drawing"`)
	marks := checkedInput.FindAllString(p.Body, -1)
	if len(marks) != 1 || !strings.Contains(marks[0], `name="on"`) {
		t.Errorf("chosen beforehand: %v", marks)
	}
	p.lacks(t, `id="air_pump"`, `type="number"`, "placeholder=", " required", "maxlength", "<script>", "onclick",
		" style=")
	if !strings.Contains(p.Body, "novalidate") {
		t.Error("the browser would validate")
	}
	for _, name := range []string{"temperature", "dead_eggs", "note", "observer", "ph"} {
		if regexp.MustCompile(`id="` + name + `"[^>]*value="[^"]`).MatchString(p.Body) {
			t.Errorf("%s is filled in", name)
		}
	}
	// Safety first (F10): temperature and equipment stand before the rest.
	order := []string{`id="on"`, `id="temperature"`, `id="chiller"`, `id="dead_eggs"`, `id="stage"`, `id="water"`,
		`id="ph"`, `id="note"`}
	last := -1
	for _, id := range order {
		i := strings.Index(p.Body, id)
		if i <= last {
			t.Errorf("%s is not in its place", id)
		}
		last = i
	}
	// Every stage's dead count can be reached.
	for _, id := range []string{"dead_eggs", "dead_alevins", "dead_fry"} {
		if !strings.Contains(p.Body, `id="`+id+`"`) {
			t.Errorf("%s cannot be reached", id)
		}
	}
}

func TestCheckIsStoredAndShown(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	f := plainCheck("temperature", " 7,5 ", "note", "ice on the pond", "tan_mg_l", "0,25", "dead_eggs", "3")
	f.Set("key", b.get(seasonPath(ts.one, "checks/new")).hidden().Get("key"))
	p := b.post(seasonPath(ts.one, "checks"), f).want(t, 303)
	shown := b.get(p.Location).want(t, 200, `role="status"`, "Saved: the check of Tank 1", "7.5\u00a0°C",
		"ice on the pond", "0.25\u00a0mg/L",
		p.Location+"/correct#temperature", p.Location+"/correct#note", "Next: check Tank 2",
		seasonPath(ts.two, "checks/new"), "not fitted", "Not entered:")
	shown.lacks(t, "mark-late", "mark-corrected")

	s := ts.load(ts.one)
	if len(s.Checks) != 1 {
		t.Fatalf("%d checks stored", len(s.Checks))
	}
	c := s.Checks[0]
	if c.Temperature != units.Some[units.Celsius](7.5) || c.TemperatureEntered != "7,5" ||
		c.TemperatureUnit != units.Cel ||
		c.DeadEggs != units.Some(3) || c.DeadFry.OK || c.Stage != logbook.EyedEgg || c.AirPump != logbook.NotFitted ||
		c.Hatched != "" || c.By != logbook.Class || c.Observer != "Group 3" || c.TAN != units.Some[units.MgPerL](0.25) {
		t.Errorf("stored %+v", c)
	}
	// The group is carried forward, nothing that was seen (F23).
	again := b.get(seasonPath(ts.two, "checks/new")).want(t, 200, `value="Group 3"`)
	again.lacks(t, `value="7,5"`, "ice on the pond")
	// The last tank without a check is done: nobody is sent on.
	b.post(seasonPath(ts.two, "checks"), plainCheck()).want(t, 303)
	b.get(p.Location).want(t, 200).lacks(t, "Next: check")
}

// Requirement L2: 7.5, 7,5 and 45.5 F are the same
// water. 45.5 F = (45.5 - 32) / 1.8 = 7.5 C by definition of the scale.
func TestTemperaturesAsTyped(t *testing.T) {
	for typed, want := range map[string]units.Celsius{
		"7.5": 7.5, "7,5": 7.5, "\u00a07.5\u00a0°C": 7.5, "45.5 F": 7.5, "45,5°F": 7.5, "7.5 deg C": 7.5, "8": 8,
		"8.": 8,
	} {
		ts := newTestServer(t)
		ts.as(ts.class).post(seasonPath(ts.one, "checks"), plainCheck("temperature", typed)).want(t, 303)
		if got := ts.load(ts.one).Checks[0].Temperature.V; got < want-1e-9 || got > want+1e-9 {
			t.Errorf("%q stored as %v", typed, got)
		}
	}
	// At a school of Fahrenheit the bare number is Fahrenheit, and reads back so.
	ts := newTestServer(t)
	b := ts.as(ts.birchKeeper)
	b.get(seasonPath(ts.far, "checks/new")).want(t, 200, "Water temperature, in °F")
	p := b.post(seasonPath(ts.far, "checks"), plainCheck("temperature", "45.5", "on", testDay)).want(t, 303)
	c := ts.load(ts.far).Checks[0]
	if c.Temperature.V < 7.4999999 || c.Temperature.V > 7.5000001 || c.TemperatureUnit != units.DegF {
		t.Errorf("stored %+v", c)
	}
	b.get(p.Location).want(t, 200, "45.5\u00a0°F")
	b.get(p.Location+"/correct").want(t, 200, `value="45.5"`)
}

// Every kind of problem: status 422, everything typed is kept, the words stand
// in the summary and beside the field, and the title says so (F14, F15).
func TestCheckProblems(t *testing.T) {
	for _, x := range []struct {
		name   string
		change []string
		field  string
		en, fr string
	}{
		{"not a number", []string{"temperature", "warm"}, "temperature", "It must be a number, like 7.5.", "nombre"},
		{"two marks", []string{"temperature", "1.500,5"}, "temperature", "can be read in two ways", "deux façons"},
		{"impossible", []string{"temperature", "99"}, "temperature", "is not possible", "possible"},
		{"Fahrenheit read", []string{"temperature", "45.5"}, "temperature", "Did you read Fahrenheit?", "Fahrenheit"},
		{"not whole", []string{"dead_eggs", "2.5"}, "dead_eggs", "without comma, point or space", "sans"},
		{"fifteen hundred", []string{"dead_eggs", "1,500"}, "dead_eggs", "without comma, point or space", "sans"},
		{"negative", []string{"dead_eggs", "-1"}, "dead_eggs", "It cannot be less than 0.", "0"},
		{"more than delivered", []string{"dead_eggs", "900"}, "dead_eggs", "more than the 200", "200"},
		{"many dead", []string{"dead_eggs", "60"}, "dead_eggs", "is a lot", "60"},
		{"no day", []string{"on", "other"}, "on", "Enter the date", "date"},
		{"no such day", []string{"on", "2026-02-30"}, "on", "There is no such day", "jour"},
		{"not a day", []string{"on", "soon"}, "on", "It must be a date", "date"},
		{"future", []string{"on", "2026-02-11"}, "on", "still to come", "2026"},
		{"before delivery", []string{"on", "2026-01-02"}, "on", "before the eggs arrived", "avant"},
		{"two days", []string{"on_other", "2026-02-08"}, "on", "Two days are chosen", "Deux jours"},
		{"time", []string{"time", "noonish"}, "time", "like 08:10", "08:10"},
		{"equipment", []string{"chiller", "humming"}, "chiller", "Choose one of the answers", "Choisissez"},
		{"stage", []string{"stage", "egg"}, "stage", "Choose one of the answers", "Choisissez"},
		{"hatched", []string{"hatched", "13"}, "hatched", "Choose one of the answers", "Choisissez"},
		{"water", []string{"water", "wet"}, "water", "Choose one of the answers", "Choisissez"},
		{"fungus", []string{"fungus", "yes"}, "fungus", "Choose one of the answers", "Choisissez"},
		{"slot", []string{"slot", "evening"}, "slot", "Choose the morning check", "vérification"},
		{"pH", []string{"ph", "15"}, "ph", "between 0 and 14", "14"},
		{"odd pH", []string{"ph", "4.1"}, "ph", "is unusual", "4,1"},
		{"oxygen", []string{"oxygen_mg_l", "31"}, "oxygen_mg_l", "between 0 and 30", "30"},
		{"ammonia", []string{"tan_mg_l", "-0.1"}, "tan_mg_l", "between 0 and 500", "500"},
		{"nitrite", []string{"nitrite_mg_l", "x"}, "nitrite_mg_l", "must be a number", "nombre"},
		{"nitrate", []string{"nitrate_mg_l", "501"}, "nitrate_mg_l", "between 0 and 500", "500"},
		{"food", []string{"fed_g", "2000"}, "fed_g", "between 0 and 1000", "1000"},
		{"long note", []string{"note", strings.Repeat("é", 2001)}, "note", "too long", "long"},
		{"long group", []string{"observer", strings.Repeat("g", 81)}, "observer", "too long", "long"},
		{"unusual", []string{"temperature", "17.5"}, "temperature", "is unusual for a tank", "17,5"},
	} {
		t.Run(x.name, func(t *testing.T) {
			ts := newTestServer(t)
			f := plainCheck(append([]string{"note", "kept words", "nitrate_mg_l", "3,25"}, x.change...)...)
			for lang, words := range map[string]string{"en": x.en, "fr": x.fr} {
				b := ts.as(ts.class)
				b.lang = lang
				p := b.post(seasonPath(ts.one, "checks"), f).want(t, 422, words, `id="summary"`, `href="#`+x.field+`"`,
					`id="`+x.field+`-problem"`)
				if !strings.Contains(p.Body, `<title>`+map[string]string{"en": "Error: ",
					"fr": "Erreur\u00a0: "}[lang]) {
					t.Error("the title does not say that there is a problem")
				}
				for name, sent := range f {
					if name == "slot" || name == "on" || name == "on_other" ||
						!strings.Contains("temperature dead_eggs note nitrate_mg_l ph observer time fed_g", name) {
						continue
					}
					if !strings.Contains(p.Body, `value="`+sent[0]+`"`) &&
						!strings.Contains(p.Body, ">"+sent[0]+"</textarea>") {
						t.Errorf("%s: %q is lost", name, sent[0])
					}
				}
				if strings.Contains(p.Body, "[check") || strings.Contains(p.Body, "[form") ||
					strings.Contains(p.Body, "<no value>") {
					t.Error("a text is missing")
				}
			}
			if n := len(ts.load(ts.one).Checks); n != 0 {
				t.Errorf("%d checks were stored all the same", n)
			}
		})
	}
}

func TestEmptyCheckIsRefused(t *testing.T) {
	ts := newTestServer(t)
	p := ts.as(ts.class).post(seasonPath(ts.one, "checks"), fields("on", testDay, "slot", "morning", "observer",
		"Group 1"))
	p.want(t, 422, "This check is empty")
	// What could not be read is not "nothing".
	p = ts.as(ts.class).post(seasonPath(ts.one, "checks"), fields("on", testDay, "slot", "morning", "ph", "seven"))
	p.want(t, 422, "It must be a number").lacks(t, "Enter at least one thing")
}

// Requirement F18: a surprising value is asked about once, per value.
func TestSurpriseIsAskedOnce(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	b.post(seasonPath(ts.one, "checks"), plainCheck("on", "2026-02-09")).want(t, 303)

	f := plainCheck("temperature", "17.5", "ph", "seven")
	b.post(seasonPath(ts.one, "checks"), f).want(t, 422, "much warmer than 7.5\u00a0°C",
		`name="confirm" value="temperature"`)
	// Confirmed, but another field cannot be read: it is not asked again.
	f.Set("confirm", "temperature")
	p := b.post(seasonPath(ts.one, "checks"), f).want(t, 422, "It must be a number").lacks(t,
		`name="confirm" value="temperature"`)
	next := p.hidden()
	f.Del("confirm")
	f["was_confirmed"] = next["was_confirmed"]
	// Another surprising value is.
	f.Set("ph", "7")
	f.Set("temperature", "19")
	b.post(seasonPath(ts.one, "checks"), f).want(t, 422, `name="was_confirmed" value="temperature=19"`, "Yes, save it")
	f.Set("temperature", "17.5")
	p = b.post(seasonPath(ts.one, "checks"), f).want(t, 303)
	c := ts.load(ts.one).Checks[1]
	b.get(p.Location).want(t, 200, "17.5\u00a0°C, asked about and confirmed")
	if len(c.Confirmed) != 1 || c.Confirmed[0] != "temperature" {
		t.Errorf("confirmed %v", c.Confirmed)
	}
	// A hard limit cannot be confirmed away.
	b.post(seasonPath(ts.two, "checks"), plainCheck("temperature", "60 C", "confirm", "temperature")).want(t, 422,
		"is not possible")
}

// The form left open over midnight asks which day is meant (D3).
func TestFormOpenedYesterday(t *testing.T) {
	ts := newTestServer(t)
	f := plainCheck("opened", testDay)
	ts.at(testNow.Add(22 * time.Hour))
	b := ts.as(ts.class)
	b.post(seasonPath(ts.one, "checks"), f).want(t, 422, "This page was opened on",
		`name="was_confirmed" value="on=2026-02-10"`)
	f.Set("confirm", "on")
	b.post(seasonPath(ts.one, "checks"), f).want(t, 303)
	if on := ts.load(ts.one).Checks[0].On; on != civil.MustParse(testDay) {
		t.Errorf("stored on %s", on)
	}
}

// Requirements O1 to O5: equal posts store one row.
func TestFiftyEqualPostsAtOnce(t *testing.T) {
	for _, key := range []string{string(logbook.NewID()), ""} {
		ts := newTestServer(t)
		b := ts.as(ts.class)
		f := plainCheck("key", key, "dead_eggs", "12")
		var wg sync.WaitGroup
		got := make([]page, 50)
		for i := range got {
			one := &browser{ts: ts, cookies: map[string]string{}, lang: "en"}
			for k, v := range b.cookies {
				one.cookies[k] = v
			}
			wg.Add(1)
			go func() { defer wg.Done(); got[i] = one.post(seasonPath(ts.one, "checks"), f) }()
		}
		wg.Wait()
		for _, p := range got {
			if p.Status != 303 || p.Location != got[0].Location {
				t.Fatalf("answers differ: %d %s, %d %s", p.Status, p.Location, got[0].Status, got[0].Location)
			}
		}
		s := ts.load(ts.one)
		if len(s.Checks) != 1 || len(s.Voided) != 0 || s.Checks[0].Revision != 1 {
			t.Fatalf("%d checks stored", len(s.Checks))
		}
	}
}

// The form of a day that has its check offers an extra one; moved to a day without
// any, what it stores is that day's check.
func TestFirstCheckOfADayIsNoExtra(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
	f := b.get(seasonPath(ts.one, "checks/new")).want(t, 200, `name="slot" value="extra"`).hidden()
	day, _ := civil.Parse(testDay)
	for k, v := range plainCheck("on", day.AddDays(-1).String(), "slot", "extra", "slot_on", f.Get("slot_on")) {
		f[k] = v
	}
	for range 2 { // sent again, it is the same one
		b.post(seasonPath(ts.one, "checks"), f).want(t, 303)
	}
	s := ts.load(ts.one)
	if len(s.Checks) != 2 || s.Checks[0].Slot != logbook.Morning || s.Checks[0].On != day.AddDays(-1) {
		t.Errorf("stored %+v", s.Checks)
	}
}

// A second, different check of the same slot is asked about with both side by
// side (O4); nothing typed is lost on any way on.
func TestSecondCheckOfTheSlot(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	first := b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
	b.get(seasonPath(ts.one, "checks/new")).want(t, 200, "was entered at 09:00 by Group 3", `name="slot" value="extra"`,
		first.Location, first.Location+"/correct")

	key := string(logbook.NewID())
	other := plainCheck("temperature", "8,1", "observer", "Group 4", "note", "bubbles <b>", "key", key)
	p := b.post(seasonPath(ts.one, "checks"), other).want(t, 409, "Already entered for", "at 09:00 by Group 3",
		"7.5\u00a0°C", "8.1\u00a0°C", "Group 4",
		"See the stored one", "Correct the stored one", "Add mine as an extra check", `name="slot" value="extra"`,
		`formaction="`+first.Location+`/correct"`, "bubbles &lt;b&gt;")
	kept := p.hidden()
	for _, name := range []string{"temperature", "observer", "note", "stage", "chiller", "dead_eggs"} {
		if kept.Get(name) != other.Get(name) {
			t.Errorf("%s: %q is lost, got %q", name, other.Get(name), kept.Get(name))
		}
	}
	// As an extra check.
	extra := url.Values{}
	for k, v := range kept {
		extra[k] = v
	}
	extra.Set("slot", "extra")
	b.post(seasonPath(ts.one, "checks"), extra).want(t, 303)
	s := ts.load(ts.one)
	if len(s.Checks) != 2 || s.Checks[1].Slot != "extra" || s.Checks[1].Temperature.V != 8.1 ||
		s.Checks[0].Temperature.V != 7.5 {
		t.Fatalf("stored %+v", s.Checks)
	}
	// As a correction: the form comes with the new values and asks why.
	kept.Set("review", "1")
	b.post(first.Location+"/correct", kept).want(t, 200, `value="8,1"`, `value="Group 4"`,
		"Why is it changed?").lacks(t, `id="summary"`)
	kept.Del("review")
	kept.Set("reason", "misread")
	b.post(first.Location+"/correct", kept).want(t, 303)
	if c := ts.load(ts.one).Checks[0]; c.Temperature.V != 8.1 || c.Revision != 2 || c.Reason != "misread" ||
		c.Slot != logbook.Morning {
		t.Errorf("corrected to %+v", c)
	}
}

// Two groups often answer different questions. Joining their checks keeps the
// answer that only the first one gave: here a note and the look of the air pump.
func TestJoinedCheckKeepsTheOtherGroup(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	b.post(seasonPath(ts.one, "checks"), plainCheck("air_pump", "stopped", "note", "pump is silent")).want(t, 303)
	mine := fields("on", testDay, "slot", "morning", "temperature", "7.9", "observer", "Group 4")
	doc := b.post(seasonPath(ts.one, "checks"), mine).want(t, 409).doc(t)
	button := doc.Find(`button[formaction$="/correct"]`)
	sent := url.Values{}
	doc.Find("main input[type=hidden]").Each(func(_ int, in *goquery.Selection) {
		sent.Add(in.AttrOr("name", ""),
			in.AttrOr("value", ""))
	})
	sent.Set(button.AttrOr("name", ""), button.AttrOr("value", ""))
	form := b.post(button.AttrOr("formaction", ""), sent).want(t, 200, "Why is it changed?", "pump is silent").doc(t)
	for selector, want := range map[string]string{
		`input[name=temperature]`: "7.9", `input[name=observer]`: "Group 4", // of the second group
		`input[name=air_pump][checked]`: "stopped", `input[name=chiller][checked]`: "running",
		`input[name=dead_eggs]`: "0",
	} {
		if got := form.Find(selector).AttrOr("value", "nothing"); got != want {
			t.Errorf("%s holds %s, want %s", selector, got, want)
		}
	}
}

// Problems come in the order of the questions on the page, so that whoever mends
// them goes down the page once.
func TestCheckProblemsFollowThePage(t *testing.T) {
	ts := newTestServer(t)
	bad := plainCheck()
	for _, name := range []string{"observer", "time", "fed_g", "oxygen_mg_l", "ph", "dead_fry", "dead_eggs",
		"temperature"} {
		bad.Set(name, strings.Repeat("banana", 40))
	}
	doc := ts.as(ts.class).post(seasonPath(ts.one, "checks"), bad).want(t, 422).doc(t)
	place := map[string]int{} // of each question, as the page has them
	doc.Find("main form [name]").Each(func(i int, q *goquery.Selection) {
		if name := q.AttrOr("name", ""); place[name] == 0 && q.AttrOr("type", "") != "hidden" {
			place[name] = i + 1
		}
	})
	var named []string
	last := 0
	doc.Find("#summary a").Each(func(_ int, a *goquery.Selection) {
		name := strings.TrimPrefix(a.AttrOr("href", ""), "#")
		named = append(named, name)
		if place[name] <= last {
			t.Errorf("%s stands at place %d of the page, after one at %d", name, place[name], last)
		}
		last = place[name]
	})
	if len(named) < 7 || named[0] != "temperature" {
		t.Errorf("the summary names %v", named)
	}
}

// The Back button and other values under the used key: not a repetition, and not
// a dead end.
func TestUsedKeyWithOtherValues(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	key := string(logbook.NewID())
	b.post(seasonPath(ts.one, "checks"), plainCheck("key", key)).want(t, 303)
	b.post(seasonPath(ts.one, "checks"), plainCheck("key", key, "temperature", "7.7")).want(t, 409,
		"Add mine as an extra check")
}

func TestDayWithAllSlotsTaken(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	for i, slot := range logbook.Slots() {
		b.post(seasonPath(ts.one, "checks"), plainCheck("slot", string(slot), "temperature",
			"7."+strconv.Itoa(i))).want(t, 303)
	}
	b.get(seasonPath(ts.one, "checks/new")).want(t, 200, "has all the checks it can hold")
	b.post(seasonPath(ts.one, "checks"), plainCheck("temperature", "8")).want(t, 409).lacks(t,
		"Add mine as an extra check")
}

// A correction can say "typed wrong", and taking back "entered twice".
func TestReasonsNameWhatHappens(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	at := b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303).Location
	b.get(at+"/correct").want(t, 200, `value="mistyped"`, "typed wrong")
	b.get(at+"/void").want(t, 200, `value="twice"`, "entered twice")
	b.post(at+"/void", fields("reason", "twice", "revision", "1")).want(t, 303)
	b.get(at).want(t, 200, "entered twice")
}
