package words

import (
	"strings"
)

// KnownBy puts how a model is known into one of four words.
func KnownBy(how string) string {
	for _, k := range []string{"assumption", "derived", "read", "memory"} {
		if strings.HasPrefix(how, k) {
			return k
		}
	}
	return "memory"
}
