package web

import (
	"context"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// classPaths are the pages of a class about a tank.
var classPaths = []string{"class", "class/stage", "class/stage?pick=alevin", "class/stage?pick=eyed_egg", "class/units",
	"class/tanks",
	"class/questions", "class/worksheet"}

// classWeeks gives two tanks of one school three weeks of checks, the second a
// degree cooler, with looks of groups.
func (ts *testServer) classWeeks() {
	ts.warmWeeks(ts.one)
	for d := civil.MustParse("2026-01-20"); d.Before(civil.MustParse(testDay)); d = d.AddDays(1) {
		ts.look(ts.two, d.String(), func(c *logbook.Check) { c.Temperature = units.Some[units.Celsius](6) })
	}
	ts.look(ts.one, testDay, func(c *logbook.Check) {
		c.Observer, c.Stage, c.DeadEggs = "Group 3", logbook.EyedEgg, units.Some(4)
	})
}

func TestClassPagesByRoleAndSchool(t *testing.T) {
	ts := newTestServer(t)
	ts.classWeeks()
	wall := "/sites/" + string(ts.alder.ID) + "/wall"
	for _, who := range []logbook.Actor{ts.class, ts.keeper, ts.coordinator} {
		b := ts.as(who)
		for _, path := range classPaths {
			b.get(seasonPath(ts.one, path)).want(t, 200, "Tank 1, Aldermoss School").lacks(t, "[class", "[stage",
				"[check")
		}
		b.get(wall).want(t, 200, "Aldermoss School").lacks(t, "[wall")
	}
	for _, path := range classPaths {
		ts.as(ts.birchKeeper).get(seasonPath(ts.one, path)).want(t, 404)
		if p := ts.as(noActor).get(seasonPath(ts.one, path)); p.Status != 303 {
			t.Errorf("%s without sign-in: %d", path, p.Status)
		}
	}
	ts.as(ts.birchKeeper).get(wall).want(t, 404)
	ts.as(ts.class).get("/today").want(t, 200, seasonPath(ts.one, "class")+`"`, `"`+wall+`"`)
	ts.as(ts.class).get(seasonPath(ts.one, "facts")).want(t, 200, `/class"`, "For the class")
}

// Every link a class meets on its pages leads to a page: a child cannot tell a
// wrong address from something it did.
func TestClassLinksLeadSomewhere(t *testing.T) {
	ts := newTestServer(t)
	ts.classWeeks()
	b := ts.as(ts.class)
	asked := map[string]bool{}
	for _, from := range append([]string{"/today", "/board", "/sites/" + string(ts.alder.ID) + "/wall",
		seasonPath(ts.one, "checks/new")},
		seasonPath(ts.one, "class"), seasonPath(ts.one, "class/stage"), seasonPath(ts.one, "class/units"),
		seasonPath(ts.one, "class/tanks"),
		seasonPath(ts.one, "class/questions"), seasonPath(ts.one, "class/worksheet"), seasonPath(ts.one, "survival"),
		seasonPath(ts.one, "guess"),
		seasonPath(ts.one, "forecast"), seasonPath(ts.one, "food"), seasonPath(ts.one, "flags")) {
		b.get(from).want(t, 200).doc(t).Find("a[href^='/']").Each(func(_ int, a *goquery.Selection) {
			href, _, _ := strings.Cut(a.AttrOr("href", ""), "#")
			if asked[href] {
				return
			}
			asked[href] = true
			if p := b.get(href); p.Status != 200 && href != "/" {
				t.Errorf("%q on %s leads to %s, which answers %d", strings.TrimSpace(a.Text()), from, href, p.Status)
			}
		})
	}
	if len(asked) < 15 {
		t.Errorf("only %d links were found", len(asked))
	}
}

// The numbers on the pages, worked out by hand from the log: 310 thermal units on
// arrival on 20 January, then 7 a day.
func TestClassPagesSayTheNumbers(t *testing.T) {
	ts := newTestServer(t)
	ts.classWeeks()
	b := ts.as(ts.class)
	// 20 January to 10 February are 22 days: 310 + 22 * 7 = 464.
	b.get(seasonPath(ts.one, "class/units")).want(t, 200, "Today 7.0 degrees made 7.0 thermal units.", "Together 464.")
	// 196 of 200 is 98 of 100.
	b.get(seasonPath(ts.one, "class")).want(t, 200, "98 in every 100", ">464<", "Show the answer")
	// The other tank has 21 days of 6 degrees, and today is not measured yet:
	// 310 + 21 * 6 = 436, and 464 - 436 = 28, at 6 a day about 5 days.
	b.get(seasonPath(ts.one, "class/tanks")).want(t, 200, "Tank 1 was 1.0\u00a0°C warmer than Tank 2",
		"Tank 1 has gathered 28 thermal units more than Tank 2.", "Tank 2 needs about 5 days", "It is no race")
	b.get(seasonPath(ts.one, "class/stage?pick=alevin")).want(t, 200, "Group 3", "You chose: alevin.",
		"Others saw something else",
		"Look for a thin tail")
	b.get(seasonPath(ts.one, "class/stage?pick=eyed_egg")).want(t, 200, "Others saw the same.")
	// A question of today does not change when today's check comes in, and is the
	// same on every tablet.
	one := b.get(seasonPath(ts.two, "class/questions")).want(t, 200, "Easy", "Middle", "Hard").Body
	ts.look(ts.two, testDay, func(c *logbook.Check) { c.Temperature = units.Some[units.Celsius](9) })
	if two := ts.as(ts.keeper).get(seasonPath(ts.two, "class/questions")).Body; questionsOf(t, one) != questionsOf(t,
		two) {
		t.Errorf("the questions changed within a day:\n%s\n%s", questionsOf(t, one), questionsOf(t, two))
	}
	// Without numbers there are no questions, and nothing pretends to be one.
	b.get(seasonPath(ts.far, "class")).want(t, 404)
	far := ts.as(ts.coordinator)
	far.get(seasonPath(ts.far, "class/tanks")).want(t, 200)
}

// questionsOf is the text of the questions of a page.
func questionsOf(t *testing.T, body string) string {
	t.Helper()
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	doc.Find("section.sheet").Each(func(_ int, s *goquery.Selection) {
		all = append(all,
			strings.Join(strings.Fields(s.Text()), " "))
	})
	if len(all) == 0 {
		t.Fatal("no questions")
	}
	return strings.Join(all, "\n")
}

// A class sees no account labels, only groups and roles.
func TestClassStageNamesGroupsOnly(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	ts.coordinator.Label = "Ms Example"
	ts.look(ts.one, testDay, func(c *logbook.Check) { c.Stage = logbook.EyedEgg })
	ts.as(ts.class).get(seasonPath(ts.one, "class/stage")).want(t, 200, "coordinator").lacks(t, "Ms Example")
}

// Sentences are short (requirement F24: at most 20 words), in both languages, and
// no sentence carries a word of blame.
func TestClassPagesAreEasyToRead(t *testing.T) {
	ts := newTestServer(t)
	ts.classWeeks()
	ts.look(ts.two, testDay, func(c *logbook.Check) { c.Stage = logbook.Alevin })
	paths := []string{"/sites/" + string(ts.alder.ID) + "/wall"}
	for _, s := range []*logbook.Season{ts.one, ts.two} {
		for _, p := range classPaths {
			paths = append(paths, seasonPath(s, p))
		}
	}
	for _, lang := range []string{"en", "fr"} {
		b := ts.as(ts.class)
		b.lang = lang
		n := 0
		for day := range 7 { // other questions every day
			ts.at(testNow.AddDate(0, 0, day))
			for _, path := range paths {
				for _, s := range classSentences(t, b.get(path).want(t, 200).Body) {
					n++
					if w := wordsIn(s); w > 20 {
						t.Errorf("%s, %s: %d words: %s", lang, path, w, s)
					}
					if blame.MatchString(s) {
						t.Errorf("%s, %s: %s", lang, path, s)
					}
				}
			}
		}
		if n < 200 {
			t.Errorf("%s: only %d sentences were read", lang, n)
		}
	}
}

var (
	sentenceEnd = regexp.MustCompile(`[.!?:]["”»]?(\s|$)`)
	blame       = regexp.MustCompile(`(?i)\b(wrong|fault|failed|bad|loser|winner|wins|faute|perdant|gagnant|mauvais)\b`)
)

// classSentences are the sentences of the main part of a page. Parts without a
// stop at their end, like headings, count as one each.
func classSentences(t *testing.T, body string) []string {
	t.Helper()
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	doc.Find("svg text").Remove() // numbers along an axis are no sentence
	var out []string
	doc.Find("main").Find("p, li, h1, h2, h3, summary, caption, figcaption, dt, dd, th, td, legend, label, button, [aria-label], desc").Each(func(_ int, s *goquery.Selection) {
		text := s.Text()
		if label, ok := s.Attr("aria-label"); ok {
			text += ". " + label
		}
		if s.Find("p, li, h1, h2, td, a span, .pick-card").Length() > 0 {
			return // its parts are looked at
		}
		for _, x := range sentenceEnd.Split(text, -1) {
			if x = strings.Join(strings.Fields(x), " "); x != "" {
				out = append(out, x)
			}
		}
	})
	return out
}

// wordsIn counts what has a letter or digit: numbers are read, too.
func wordsIn(s string) int {
	n := 0
	for _, w := range strings.Fields(s) {
		if strings.ContainsFunc(w, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }) {
			n++
		}
	}
	return n
}

// The wall says how each tank is and nothing that would worry: no headline of a
// flag, no names; and how it keeps fresh with and without script.
func TestWallShowsFiguresOnly(t *testing.T) {
	ts := newTestServer(t)
	ts.classWeeks()
	ts.look(ts.two, testDay, func(c *logbook.Check) {
		c.Temperature, c.Chiller, c.DeadEggs = units.Some[units.Celsius](15), logbook.Stopped, units.Some(30)
	})
	path := "/sites/" + string(ts.alder.ID) + "/wall"
	p := ts.as(ts.class).get(path).want(t, 200, "Tank 1", "Tank 2", "7.0\u00a0°C", ">464<", ">98<", "Checked today",
		"Act",
		`data-every="60"`, `data-seen="09:00"`, `<noscript><meta http-equiv="refresh" content="60; url=`+path+`"`,
		"Today’s question")
	a, err := ts.Assess.Assess(context.Background(), ts.load(ts.two), testNow)
	ts.must(err)
	if len(a.Assessment.Flags) < 2 {
		t.Fatalf("only %d flags", len(a.Assessment.Flags))
	}
	en := ts.Cat.Printer("en", units.Cel)
	for _, f := range a.Assessment.Flags {
		p.lacks(t, en.T(f.Headline.Key, f.Headline.Args), en.T(f.Class.Key, f.Class.Args))
	}
	p.lacks(t, "Group 3", ts.class.Label, "<button class=\"primary")
	fr := ts.as(ts.class)
	fr.lang = "fr"
	fr.get(path).want(t, 200, "7,0\u00a0°C", "Vérifié aujourd’hui", "La question du jour").lacks(t, "[wall", "Checked")
}

// More than four tanks take turns.
func TestWallTakesTurns(t *testing.T) {
	ts := newTestServer(t)
	for _, name := range []string{"Tank 3", "Tank 4", "Tank 5"} {
		ts.moreTank(name)
	}
	path := "/sites/" + string(ts.alder.ID) + "/wall"
	b := ts.as(ts.class)
	b.get(path).want(t, 200, "Tank 4", "page 1 of 2", `data-next="`+path+`?page=2"`, `data-every="20"`).lacks(t,
		"Tank 5")
	b.get(path+"?page=2").want(t, 200, "Tank 5", "page 2 of 2", `data-next="`+path+`?page=1"`).lacks(t, "Tank 4")
	b.get(path+"?page=99").want(t, 200, "page 2 of 2")
}

func (ts *testServer) moreTank(name string) {
	ts.t.Helper()
	ctx := context.Background()
	k, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: name, Volume: 100,
		Wall: logbook.Insulated}, testNow, store.IdempotencyKey{})
	ts.must(err)
	s, err := ts.DB.CreateSeason(ctx, ts.coordinator, logbook.Season{Label: "2025-26", Tank: k, Lot: ts.lot}, testNow,
		store.IdempotencyKey{})
	ts.must(err)
	_, err = ts.DB.CreateDelivery(ctx, ts.coordinator,
		logbook.Delivery{SeasonID: s.ID, On: civil.MustParse("2026-01-20"), Count: 100,
			Method: logbook.ByHand, ThermalUnits: units.Some[units.ThermalUnits](310), Stage: logbook.EyedEgg}, testNow,
		store.Write{})
	ts.must(err)
}

// Every field of the forms of a check and of events says in one line how to find
// its answer, in both languages.
func TestFieldsExplainThemselves(t *testing.T) {
	ts := newTestServer(t)
	for _, lang := range []string{"en", "fr"} {
		b := ts.as(ts.keeper)
		b.lang = lang
		paths := []string{seasonPath(ts.two, "checks/new")}
		for _, k := range logbook.EventKinds() {
			paths = append(paths, seasonPath(ts.two, "events/new?kind="+string(k)))
		}
		fields := 0
		for _, path := range paths {
			doc, err := goquery.NewDocumentFromReader(strings.NewReader(b.get(path).want(t, 200).lacks(t, "[event",
				"[check", "[look").Body))
			ts.must(err)
			doc.Find(".field").Each(func(_ int, s *goquery.Selection) {
				name := s.Find("input, textarea").AttrOr("name", "")
				if name == "on" || name == "" { // the tiles of the day say it all
					return
				}
				fields++
				hint := strings.TrimSpace(s.Find(".hint").Text())
				if hint == "" {
					t.Errorf("%s, %s: %q has no line of help", lang, path, name)
				}
				for _, x := range sentenceEnd.Split(hint, -1) {
					if wordsIn(x) > 20 {
						t.Errorf("%s, %s: the help of %q is long: %s", lang, path, name, x)
					}
				}
			})
		}
		if fields < 40 {
			t.Errorf("%s: only %d fields were read", lang, fields)
		}
	}
	// Drawings stand beside the looks, with words for those who do not see them.
	p := ts.as(ts.class).get(seasonPath(ts.two, "checks/new")).want(t, 200,
		"Drawing: a white egg in which nothing can be seen.",
		"Drawing: flat rings that lie on still water.", `class="pictured"`)
	if n := strings.Count(p.Body, `class="pictured"`); n != 6 {
		t.Errorf("%d answers have a drawing, want 4 of the water and 2 of the fuzz", n)
	}
}
