package assess

import (
	"encoding/json"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// StoredWords is what a flag said when it was raised, for the record. Quantities
// are in canonical units; kinds tells what each argument is, so that the sentence
// can be written again in any language and unit.
type StoredWords struct {
	Headline string                     `json:"headline"`
	Args     map[string]json.RawMessage `json:"args,omitempty"`
	Kinds    map[string]string          `json:"kinds,omitempty"`
	Since    civil.Date                 `json:"since"`
}

// flagArgs keeps what the headline said when the flag was raised. A value that
// JSON cannot hold never stops an entry from being stored.
func flagArgs(f *rules.Flag) json.RawMessage {
	k := StoredWords{Headline: f.Headline.Key, Since: f.Since, Args: map[string]json.RawMessage{},
		Kinds: map[string]string{}}
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
	case logbook.DailyCounts:
		return "daily"
	case time.Weekday:
		return "weekday"
	}
	return ""
}
