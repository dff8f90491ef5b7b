package entries

import (
	"strings"
	"unicode"
)

// CleanFileName makes the name of a sent file harmless to show: no folders, no
// control or direction characters, at most 80 characters.
func CleanFileName(name string) string {
	if i := strings.LastIndexAny(name, `/\`); i >= 0 {
		name = name[i+1:]
	}
	name = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, strings.ToValidUTF8(name, ""))
	name = strings.TrimSpace(name)
	if r := []rune(name); len(r) > 80 {
		name = string(r[:79]) + "…"
	}
	return name
}
