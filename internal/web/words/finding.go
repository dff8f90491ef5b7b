package words

import (
	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
)

// FindingLine says what was found of a flag; ok is false when nobody has said it.
func FindingLine(fs assess.Findings, p *i18n.Printer, id logbook.ID, site logbook.Site) (line string, ok bool) {
	f := fs[id]
	if f == nil {
		return "", false
	}
	args := logbook.Args{"What": p.T("flag.finding." + string(f.What)), "By": f.By, "At": AtSite(p, site, f.At), "Note": f.Note}
	if f.Note == "" {
		return p.T("flag.finding.line", args), true
	}
	return p.T("flag.finding.line_note", args), true
}
