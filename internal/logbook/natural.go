package logbook

import (
	"strings"
	"sync"

	"golang.org/x/text/collate"
	"golang.org/x/text/language"
)

// collators compare names; one is not safe for two at once.
var collators = sync.Pool{New: func() any {
	return collate.New(language.Und, collate.Numeric, collate.Loose)
}}

// NaturalCompare orders names as people list them: numbers by value (School 2 before
// School 10), letters whatever their case and accents (the Unicode collation
// algorithm, root order). Names that differ in nothing else are ordered by their
// bytes, so that only equal names compare as 0.
func NaturalCompare(x, y string) int {
	if x == y {
		return 0
	}
	c := collators.Get().(*collate.Collator)
	defer collators.Put(c)
	if order := c.CompareString(x, y); order != 0 {
		return order
	}
	return strings.Compare(x, y)
}
