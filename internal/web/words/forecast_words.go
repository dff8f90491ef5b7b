package words

import (
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// StageWords names a stage, and says so when nobody has seen it.
func StageWords(p *i18n.Printer, b rules.Belief) string {
	switch {
	case b.Stage == "":
		return ""
	case b.From == rules.FromIndex:
		return p.T("stage.worked_out", logbook.Args{"Stage": b.Stage})
	}
	return p.T(b.Stage.MessageKey())
}
