package entry

import (
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// WaterTests are the optional tests of the water, in the order of the form.
func WaterTests() []string { return logbook.Names(logbook.WaterTests()) }

// choices are the tiles of a field. Equipment that is not fitted is not asked about.
func choices(p ui.Page, field string) []ui.Option {
	f := logbook.FieldOf(logbook.CheckFields(), field)
	var out []ui.Option
	for _, v := range f.Choices {
		if v != string(logbook.NotFitted) {
			out = append(out, ui.Option{Value: v, Label: p.T(f.MessageKey(v))})
		}
	}
	return out
}

// unsure adds the answer that takes a choice back.
func unsure(p ui.Page, field string) []ui.Option {
	return append(choices(p, field), ui.Option{Value: "", Label: p.T("check_form.not_looked")})
}

func fieldNames(fs []ui.Field) []string {
	var out []string
	for _, f := range fs {
		out = append(out, f.Name)
	}
	return out
}
