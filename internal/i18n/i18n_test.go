package i18n

import (
	"regexp"
	"sort"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/units"
)

func load(t *testing.T) *Catalogue {
	t.Helper()
	c, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestPrinterWritesTheReadersWay(t *testing.T) {
	c := load(t)
	en, fr := c.Printer("en", units.Cel), c.Printer("fr", units.Cel)
	us := c.Printer("en", units.DegF)
	d := civil.MustParse("2026-03-04")
	for _, x := range []struct{ got, want string }{
		{en.Temp(7.5), "7.5\u00a0°C"},
		{fr.Temp(7.5), "7,5\u00a0°C"},
		{us.Temp(7.5), "45.5\u00a0°F"},
		{us.TempDelta(1), "1.8\u00a0°F"},
		{en.Temp(-0.04), "0.0\u00a0°C"},
		{en.Count(12345), "12,345"},
		{fr.Count(12345), "12\u00a0345"},
		{en.Sig(0.0023456), "0.00235"},
		{en.Sig(12), "12"},
		{en.Date(d), "4 March 2026"},
		{fr.DateWeekday(d), "mercredi 4 mars"},
		{us.ThermalUnits(310), "558\u00a0thermal units (°F)"},
	} {
		if x.got != x.want {
			t.Errorf("got %q, want %q", x.got, x.want)
		}
	}
}

var placeholder = regexp.MustCompile(`{{\s*\.(\w+)\s*}}`)

// Every language has every key of English, with the same placeholders and no
// empty text.
func TestLanguagesAreComplete(t *testing.T) {
	c := load(t)
	texts := map[string]map[string]string{}
	for _, lang := range c.Languages() {
		texts[lang] = rawTexts(t, lang)
	}
	for _, lang := range c.Languages() {
		for key, text := range texts["en"] {
			other, ok := texts[lang][key]
			if !ok {
				t.Errorf("%s has no %q", lang, key)
				continue
			}
			if other == "" {
				t.Errorf("%s has an empty %q", lang, key)
			}
			if got, want := names(other), names(text); got != want {
				t.Errorf("%s: %q has placeholders %s, English has %s", lang, key, got, want)
			}
		}
		for key := range texts[lang] {
			if _, ok := texts["en"][key]; !ok {
				t.Errorf("%s has %q, English has not", lang, key)
			}
		}
	}
}

func names(text string) string {
	set := map[string]bool{}
	for _, m := range placeholder.FindAllStringSubmatch(text, -1) {
		set[m[1]] = true
	}
	var all []string
	for n := range set {
		all = append(all, n)
	}
	sort.Strings(all)
	out := ""
	for _, n := range all {
		out += n + " "
	}
	return out
}

// Words that blame or confuse, from the GOV.UK error message guidance (read).
var banned = regexp.MustCompile(`(?i)\b(please|sorry|invalid|valid|forbidden|illegal|oops|an error occurred|this field is required)\b`)

func TestNoTextBlamesTheReader(t *testing.T) {
	for key, text := range rawTexts(t, "en") {
		if w := banned.FindString(text); w != "" {
			t.Errorf("%s says %q: %s", key, w, text)
		}
	}
}
