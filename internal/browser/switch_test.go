package browser

import "testing"

// TestSwitchKeepsTyping: language and unit are switched while a form is half
// filled, also after it came back with problems, and what was typed stays.
func TestSwitchKeepsTyping(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	b.open("/lots/new")
	b.fill("code", "NEW-27")
	b.fill("supplier", "Invented hatchery")
	b.click(`form.language button[name="language"]`)
	if got := b.value("code") + "/" + b.value("supplier"); got != "NEW-27/Invented hatchery" {
		t.Errorf("after the switch of language the form holds %q", got)
	}
	b.click(`form.language button[name="language"]`)
	b.clickFor(422, "main form button.primary") // no species yet
	b.wantSummary()
	b.click(`form.language button[name="unit"]`)
	if got := b.path() + " " + b.value("code"); got != "/lots/new NEW-27" {
		t.Errorf("after problems and a switch of unit: %q", got)
	}
	b.click(`form.language button[name="unit"]`)
	b.open("/lots/new")
	if got := b.value("code"); got != "" {
		t.Errorf("a form opened anew holds %q", got)
	}
}
