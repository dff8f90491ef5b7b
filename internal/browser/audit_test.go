package browser

import "testing"

// TestPagesLight looks at every main page in light colours: accessibility,
// 320 pixels, targets, and what the browser complains about.
func TestPagesLight(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.media("light", false)
	for _, p := range places(s) {
		b.visit(p)
		b.axe(p.name + " (light)")
		b.named(p.name)
		least := 24
		if p.name == "check-form" {
			least = 44
		}
		b.targets(p.name, least)
		b.narrow(p.name)
	}
}

// TestPagesDark looks at every main page in dark colours, for people who ask
// for less motion.
func TestPagesDark(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.media("dark", true)
	for _, p := range places(s) {
		b.visit(p)
		b.axe(p.name + " (dark)")
		b.still(p.name)
	}
	if light := eval[bool](b, `getComputedStyle(document.body).backgroundColor === "rgb(255, 255, 255)"`); light {
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
	b.press(`label.confirm`)
	b.click(saveButton)
	b.wantStored()
	look("saved check")
	b.load(404, navigate(b.base+"/nowhere"))
	look("page that is not there")
}
