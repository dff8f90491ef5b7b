package browser

import (
	"os"
	"testing"
)

// TestPagesLight looks at every main page in English and light colours:
// accessibility, 320 pixels, targets, and what the browser complains about.
func TestPagesLight(t *testing.T) {
	t.Parallel()
	auditPages(t, "en", "light")
}

// TestPagesDark looks at every main page in French and dark colours, for people
// who ask for less motion.
func TestPagesDark(t *testing.T) {
	t.Parallel()
	auditPages(t, "fr", "dark")
}

// TestPagesTheOtherWay looks at what the two before leave out: English in the
// dark and French in the light. Colours do not depend on words, so it is asked for
// by REDDSIDE_AUDIT=full.
func TestPagesTheOtherWay(t *testing.T) {
	if os.Getenv("REDDSIDE_AUDIT") != "full" {
		t.Skip("REDDSIDE_AUDIT=full looks at every page in both languages and both schemes")
	}
	auditPages(t, "en", "dark")
	auditPages(t, "fr", "light")
}

func auditPages(t *testing.T, lang, scheme string) {
	t.Helper()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.media(scheme, scheme == "dark")
	if lang != "en" {
		b.open("/board")
		b.click(`form.language button[value="` + lang + `"]`)
	}
	for _, p := range places(s) {
		b.visit(p)
		name := p.name + " (" + lang + ", " + scheme + ")"
		if got := eval[string](b, `document.documentElement.lang`); got != lang {
			t.Fatalf("%s: the page is in %q", name, got)
		}
		b.axe(name)
		if scheme == "dark" {
			b.still(name)
		}
		least := 24
		if p.name == "check-form" {
			least = 44
		}
		b.named(name)
		b.targets(name, least)
		b.narrow(name)
	}
	if white := eval[bool](b, `getComputedStyle(document.body).backgroundColor === "rgb(255, 255, 255)"`); scheme == "dark" && white {
		t.Error("the page stays white in the dark")
	}
}

// TestPagesOfOthers looks at what a class and a visitor see.
func TestPagesOfOthers(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base)
	b.media("dark", true)
	look := func(name string) {
		t.Helper()
		b.axe(name)
		b.narrow(name)
	}
	b.open("/sign-in")
	look("sign-in")
	b.as("class")
	b.visit(place{name: "board of a class", path: "/board"})
	look("board of a class")
	room3 := s.season("Room 3", true)
	b.visit(place{name: "check form of a class", path: seasonPath(room3, "/checks/new")})
	b.fill("temperature", "warm")
	b.fill("dead_eggs", "-3")
	b.clickFor(422, saveButton)
	look("check form with problems")
	b.fill("temperature", "14")
	b.fill("dead_eggs", "0")
	b.clickFor(422, saveButton)
	look("check form with a question")
	b.click(`#summary button`)
	b.wantStored()
	look("saved check")
	b.load(404, navigate(b.base+"/nowhere"))
	look("page that is not there")
}
