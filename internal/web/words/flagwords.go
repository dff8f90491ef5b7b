package words

import (
	"encoding/json"
	"strings"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
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
	case "daily":
		v, ok := readAs[logbook.DailyCounts](raw)
		if c, is := v.(logbook.DailyCounts); is {
			c.Today = civil.Date{} // "today" was another day
			v = c
		}
		return v, ok
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

// SaidNow writes what the rules say today of a flag, or what it said when it was
// raised once they are silent about it.
func SaidNow(p *i18n.Printer, today assess.Spoken, f *store.Flag) string {
	if now := today.Of(f); now != nil {
		return p.T(now.Headline.Key, now.Headline.Args)
	}
	return SaidThen(p, f.Rule, f.Args)
}

// SaidThen writes what a flag said when it was raised with its kind; the name of
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
	// Flags of before each day was told apart keep a sum.
	if _, told := said["Each"]; !told && strings.HasPrefix(k.Headline, "rule.dead_count.headline") {
		return p.T("rule.dead_count.former", said)
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
