package words

import (
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

func KeyedOptions[T interface {
	~string
	i18n.Keyed
}](p *i18n.Printer, values []T) []ui.Option {
	var out []ui.Option
	for _, v := range values {
		out = append(out, ui.Option{Value: string(v), Label: p.T(v.MessageKey())})
	}
	return out
}

func WeekendsValue(w logbook.Weekends) string {
	if w == "" {
		return "programme"
	}
	return string(w)
}

func ReadWeekends(s string) logbook.Weekends {
	if s == "programme" {
		return ""
	}
	return logbook.Weekends(s)
}
