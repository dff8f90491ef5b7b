package words

import (
	"encoding/json"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

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
func SaidThen(p *i18n.Printer, rule string, args json.RawMessage) string {
	var k assess.KeptWords
	if json.Unmarshal(args, &k) != nil || k.Headline == "" {
		return RuleName(p, rule)
	}
	said := logbook.Args{}
	for name, raw := range k.Args {
		v, ok := readWord(k.Kinds[name], raw)
		if !ok {
			return RuleName(p, rule)
		}
		said[name] = v
	}
	return p.T(k.Headline, said)
}

func RuleName(p *i18n.Printer, rule string) string {
	for _, r := range rules.All() {
		if r.ID == rule {
			return p.T(r.Name.Key)
		}
	}
	return rule
}
