package entry

import (
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// Choices of tiles, by field.
var (
	equipmentChoices = []logbook.Equipment{logbook.Running, logbook.Stopped, logbook.NotChecked}
	hatchedChoices   = []logbook.Hatched{logbook.HatchedNone, logbook.HatchedFew, logbook.HatchedHalf, logbook.HatchedMost, logbook.HatchedAll}
	waterChoices     = []logbook.Water{logbook.WaterClear, logbook.WaterCloudy, logbook.WaterFoam, logbook.WaterFilm}
	deadCauses       = logbook.DeadCauses()
	fungusChoices    = []logbook.Sighting{logbook.NotSeen, logbook.Seen}
)

// WaterTests are the optional tests of the water, in the order of the form.
func WaterTests() []string {
	return []string{"ph", "tan_mg_l", "nitrite_mg_l", "nitrate_mg_l", "oxygen_mg_l", "chlorine_mg_l", "alkalinity_mg_l"}
}

type keyed interface {
	~string
	MessageKey() string
}

func choices[T keyed](p ui.Page, all []T) []ui.Option {
	out := make([]ui.Option, 0, len(all)+1)
	for _, v := range all {
		out = append(out, ui.Option{Value: string(v), Label: p.T(v.MessageKey())})
	}
	return out
}

// unsure adds the answer that takes a choice back.
func unsure(p ui.Page, all []ui.Option) []ui.Option {
	return append(all, ui.Option{Value: "", Label: p.T("check_form.not_looked")})
}

func fieldNames(fs []ui.Field) []string {
	var out []string
	for _, f := range fs {
		out = append(out, f.Name)
	}
	return out
}
