package school

import (
	"strings"
	"unicode/utf8"

	"reddside/internal/logbook"
	"reddside/internal/web/form"
)

// readPassphrase reads a new passphrase that was typed twice.
func readPassphrase(f *form.Form) string {
	pass := f.Raw("passphrase")
	switch n := utf8.RuneCountInString(pass); {
	case n < minPassphrase:
		f.Fail("passphrase", "passphrase.short", logbook.Args{"Min": minPassphrase})
	case n > maxPassphrase:
		f.Fail("passphrase", "entry.too_long", logbook.Args{"Max": maxPassphrase})
	case commonPassphrase(pass):
		f.Fail("passphrase", "passphrase.common", nil)
	case pass != f.Raw("again"):
		f.Fail("again", "passphrase.again", nil)
	}
	return pass
}

// commonPassphrase refuses what guessers try first: one character or a short
// piece over and over, or a run along the keyboard.
func commonPassphrase(s string) bool {
	low := strings.ToLower(strings.ReplaceAll(s, " ", ""))
	for n := 1; n <= 4 && n*2 <= len(low); n++ {
		if strings.Repeat(low[:n], len(low)/n+1)[:len(low)] == low {
			return true
		}
	}
	for _, run := range []string{"abcdefghijklmnopqrstuvwxyz", "12345678901234567890", "qwertyuiopasdfghjklzxcvbnm",
		"passwordpassword", "reddsidereddside", "salmonsalmonsalmon"} {
		if strings.Contains(run, low) || strings.HasPrefix(low, run) {
			return true
		}
	}
	return false
}
