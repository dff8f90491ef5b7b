package rules_test

import (
	"encoding/json"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// entry is one message of a catalogue: a plain text, or its plural forms.
type entry struct{ one, other string }

func (e entry) plural() bool    { return e.one != "" }
func (e entry) forms() []string { return []string{e.one, e.other} }

func (e *entry) UnmarshalJSON(b []byte) error {
	if json.Unmarshal(b, &e.other) == nil {
		return nil
	}
	var forms struct{ One, Other string }
	err := json.Unmarshal(b, &forms)
	e.one, e.other = forms.One, forms.Other
	return err
}

var catalogues = sync.OnceValues(func() (map[string]map[string]entry, error) {
	all := map[string]map[string]entry{}
	for _, lang := range []string{"en", "fr"} {
		data, err := os.ReadFile("../i18n/locales/rules." + lang + ".json")
		if err != nil {
			return nil, err
		}
		texts := map[string]entry{}
		if err := json.Unmarshal(data, &texts); err != nil {
			return nil, err
		}
		all[lang] = texts
	}
	return all, nil
})

var placeholder = regexp.MustCompile(`\{\{\s*\.(\w+)\s*\}\}`)

// checkMessage asks that a message can be written in both languages with the
// arguments it has.
func checkMessage(t *testing.T, m rules.Message) {
	t.Helper()
	all, err := catalogues()
	if err != nil {
		t.Fatal(err)
	}
	for lang, texts := range all {
		e, ok := texts[m.Key]
		if !ok || e.other == "" {
			t.Errorf("%s: no text %q", lang, m.Key)
			continue
		}
		if _, counted := m.Args["Count"]; counted != e.plural() {
			t.Errorf("%s: %q: plural forms %v, Count given %v", lang, m.Key, e.plural(), counted)
		}
		for _, form := range e.forms() {
			for _, p := range placeholder.FindAllStringSubmatch(form, -1) {
				if _, ok := m.Args[p[1]]; !ok {
					t.Errorf("%s: %q wants %s, which it is not given: %v", lang, m.Key, p[1], m.Args)
				}
			}
		}
	}
}

// checkTexts checks every text of a flag.
func checkTexts(t *testing.T, f rules.Flag) {
	t.Helper()
	for _, m := range append([]rules.Message{f.Headline, f.Why, f.Class, f.Within}, f.Do...) {
		checkMessage(t, m)
	}
	if len(f.Do) == 0 || f.Who == "" || f.ShelveDays < 1 {
		t.Errorf("%s: who %q, %d actions, set aside %d days", f.Rule, f.Who, len(f.Do), f.ShelveDays)
	}
	if f.Source == "" && !f.LocalChoice {
		t.Errorf("%s: neither a source nor a local choice", f.Rule)
	}
}

// Requirement A1: a rule has cause, consequence, what to do, who and time.
func TestEveryRuleIsExplainedInBothLanguages(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range rules.All() {
		if seen[r.ID] {
			t.Errorf("rule %s stands twice", r.ID)
		}
		seen[r.ID] = true
		for _, m := range append([]rules.Message{r.Name, r.Watches, r.Why, r.Class, r.Within}, r.Do...) {
			checkMessage(t, m)
		}
		if len(r.Do) == 0 || !r.Who.Valid() || r.ShelveDays < 1 {
			t.Errorf("%s: who %q, %d actions, set aside %d days", r.ID, r.Who, len(r.Do), r.ShelveDays)
		}
		if r.Source == "" && !r.LocalChoice {
			t.Errorf("%s: neither a source nor a local choice", r.ID)
		}
		checkMessage(t, rules.Message{Key: r.Family.MessageKey()})
	}
	for _, l := range rules.Limits() {
		if l.String() == "" {
			t.Errorf("threshold %d has no name", l)
		}
		checkMessage(t, rules.Message{Key: l.MessageKey()})
		if back, ok := rules.LimitNamed(l.String()); !ok || back != l {
			t.Errorf("threshold %s is found as %s", l, back)
		}
	}
	for _, id := range rules.Former() {
		if seen[id] {
			t.Errorf("%s is former and still asked", id)
		}
		checkMessage(t, rules.Message{Key: "rule." + id + ".name"})
	}
	for _, k := range rules.Kinds() {
		checkMessage(t, rules.Message{Key: k.MessageKey()})
	}
	for _, s := range []rules.Status{rules.StatusAct, rules.StatusWatch, rules.StatusNoCheck, rules.StatusDue,
		rules.StatusFine} {
		checkMessage(t, rules.Message{Key: s.MessageKey()})
	}
	for _, k := range []rules.Known{rules.Read, rules.FromMemory, rules.Simulated, rules.LocalChoice} {
		checkMessage(t, rules.Message{Key: k.MessageKey()})
	}
	for _, b := range []rules.Basis{rules.FromObservation, rules.FromIndex, rules.FromDelivery} {
		checkMessage(t, rules.Message{Key: b.MessageKey()})
	}
}

// The languages have the same keys and the same placeholders.
func TestLanguagesAgree(t *testing.T) {
	all, err := catalogues()
	if err != nil {
		t.Fatal(err)
	}
	holes := func(e entry) []string {
		var out []string
		for _, p := range placeholder.FindAllStringSubmatch(e.other, -1) {
			out = append(out, p[1])
		}
		slices.Sort(out)
		return out
	}
	for key, en := range all["en"] {
		fr, ok := all["fr"][key]
		if !ok || fr.plural() != en.plural() || !slices.Equal(holes(en), holes(fr)) {
			t.Errorf("%s: %q / %q", key, en.other, fr.other)
		}
	}
	if len(all["en"]) != len(all["fr"]) {
		t.Errorf("%d English texts, %d French", len(all["en"]), len(all["fr"]))
	}
}

// Texts for people: short sentences, no scolding words, no chances for pupils,
// and an adult where electricity and water meet.
func TestTextsAreForTheirReaders(t *testing.T) {
	all, err := catalogues()
	if err != nil {
		t.Fatal(err)
	}
	banned := regexp.MustCompile(`(?i)\b(please|sorry|invalid|valid|forbidden|illegal|oops)\b|an error occurred|this field is required`)
	for key, e := range all["en"] {
		class := strings.Contains(key, ".class")
		for _, form := range e.forms() {
			if banned.MatchString(form) {
				t.Errorf("%s: %q", key, form)
			}
			if class && regexp.MustCompile(`(?i)chance|probab|percent|%|once in`).MatchString(form) {
				t.Errorf("%s tells pupils a chance: %q", key, form)
			}
			most := 24
			if class {
				most = 20
			}
			for _, s := range regexp.MustCompile(`[.:?!] `).Split(form, -1) {
				if n := len(strings.Fields(s)); n > most {
					t.Errorf("%s: %d words: %q", key, n, s)
				}
			}
		}
	}
	for _, r := range rules.All() {
		if r.Family == rules.Equipment && (len(r.Do) == 0 || r.Do[0].Key != "rules.do.caution_electric") {
			t.Errorf("%s does not begin with the caution about electricity", r.ID)
		}
		if r.Who == logbook.Class {
			t.Errorf("%s asks a class to act alone", r.ID)
		}
	}
}
