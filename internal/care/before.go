package care

import "reddside/internal/civil"

// Ready is one thing to have done before eggs come, and by when.
type Ready struct {
	ID     string     // of its text, before.item.<id>
	Days   int        // before the delivery
	By     civil.Date // zero without a day of delivery
	Source string
	Known  Known
}

// BeforeEggs lists what a tank needs before eggs come on a day (zero: not known
// yet), earliest first. The days are common practice; how long a filter takes is
// read (one to six weeks, the longer the colder).
func BeforeEggs(on civil.Date) []Ready {
	list := []struct {
		id     string
		days   int
		source string
		known  Known
	}{
		{"filter", 42, "FAO glossary: one to six weeks by temperature", Read},
		{"leak", 21, "", Practice},
		{"electric", 21, "teachers' federation bulletin on electricity and aquariums", Read},
		{"fill", 14, "", Practice},
		{"thermometer", 7, "", Practice},
		{"spare", 7, "", Practice},
		{"filter_test", 4, "", Practice},
		{"chiller", 3, "", Practice},
		{"people", 3, "", Practice},
		{"dark", 1, "light raised mortality of trout embryos (Science 1961, abstract)", Read},
	}
	out := make([]Ready, len(list))
	for i, x := range list {
		out[i] = Ready{ID: x.id, Days: x.days, Source: x.source, Known: x.known}
		if !on.IsZero() {
			out[i].By = on.AddDays(-x.days)
		}
	}
	return out
}
