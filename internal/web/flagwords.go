package web

import (
	"encoding/json"
	"time"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
)

// keptWords is what a flag said when it was raised, for the record. Quantities
// are in canonical units; kinds tells what each argument is, so that the sentence
// can be written again in any language and unit.
type keptWords struct {
	Headline string                     `json:"headline"`
	Args     map[string]json.RawMessage `json:"args,omitempty"`
	Kinds    map[string]string          `json:"kinds,omitempty"`
	Since    civil.Date                 `json:"since"`
}

// flagArgs keeps what the headline said when the flag was raised. A value that
// JSON cannot hold never stops an entry from being stored.
func flagArgs(f *rules.Flag) json.RawMessage {
	k := keptWords{Headline: f.Headline.Key, Since: f.Since, Args: map[string]json.RawMessage{}, Kinds: map[string]string{}}
	for name, v := range f.Headline.Args {
		raw, err := json.Marshal(v)
		if err != nil {
			continue
		}
		k.Args[name] = raw
		if kind := kindOfWord(v); kind != "" {
			k.Kinds[name] = kind
		}
	}
	b, err := json.Marshal(k)
	if err != nil {
		return json.RawMessage(`{}`)
	}
	return b
}

func kindOfWord(v any) string {
	switch v.(type) {
	case string:
		return "text"
	case int:
		return "count"
	case float64:
		return "number"
	case units.Celsius:
		return "celsius"
	case units.CelsiusDelta:
		return "celsius_delta"
	case units.MgPerL:
		return "mg_l"
	case civil.Date:
		return "date"
	case logbook.Stage:
		return "stage"
	case time.Weekday:
		return "weekday"
	}
	return ""
}

func readWord(kind string, raw json.RawMessage) (any, bool) {
	switch kind {
	case "text":
		return readAs[string](raw)
	case "count":
		return readAs[int](raw)
	case "number":
		return readAs[float64](raw)
	case "celsius":
		return readAs[units.Celsius](raw)
	case "celsius_delta":
		return readAs[units.CelsiusDelta](raw)
	case "mg_l":
		return readAs[units.MgPerL](raw)
	case "date":
		return readAs[civil.Date](raw)
	case "stage":
		return readAs[logbook.Stage](raw)
	case "weekday":
		return readAs[time.Weekday](raw)
	}
	return nil, false
}

func readAs[T any](raw json.RawMessage) (any, bool) {
	var v T
	err := json.Unmarshal(raw, &v)
	return v, err == nil
}

// saidThen writes what a flag said when it was raised with its kind; the name of
// its rule when that is not known any more.
func saidThen(p *i18n.Printer, rule string, args json.RawMessage) string {
	var k keptWords
	if json.Unmarshal(args, &k) != nil || k.Headline == "" {
		return ruleName(p, rule)
	}
	said := logbook.Args{}
	for name, raw := range k.Args {
		v, ok := readWord(k.Kinds[name], raw)
		if !ok {
			return ruleName(p, rule)
		}
		said[name] = v
	}
	return p.T(k.Headline, said)
}

func ruleName(p *i18n.Printer, rule string) string {
	for _, r := range rules.All() {
		if r.ID == rule {
			return p.T(r.Name.Key)
		}
	}
	return rule
}

// restOf is how long a rule's flag may be set aside, in days.
func restOf(rule string) int {
	for _, r := range rules.All() {
		if r.ID == rule {
			return r.SetAsideDays
		}
	}
	return 0
}

// latestRest is the last day to which a flag may be set aside.
func latestRest(f *store.Flag, today civil.Date) civil.Date { return today.AddDays(restOf(f.Rule)) }
