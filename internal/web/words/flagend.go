package words

import (
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// EndText says why a flag is over; "" while it is open, and of flags that ended
// before reasons were kept.
func EndText(p *i18n.Printer, why, in string) string {
	if why == "" {
		return ""
	}
	return p.T("flag.end."+why, logbook.Args{"In": RuleName(p, in)})
}

// OverText names a flag that is over with the reason of its end.
func OverText(p *i18n.Printer, f *store.Flag) string {
	return p.T("flag.over."+f.EndWhy, logbook.Args{"Flag": RuleName(p, f.Rule), "In": RuleName(p, f.EndIn)})
}
