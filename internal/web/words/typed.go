package words

import (
	"slices"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
)

// TypedText writes what was sent in a field of a form as a person reads it: days and
// choices in words, anything else as it was typed.
func TypedText(p *i18n.Printer, field, sent string) string {
	if d, err := civil.Parse(sent); err == nil {
		return p.Date(d)
	}
	switch field {
	case "slot":
		return choiceText(p, logbook.Slots(), sent)
	case "chiller", "filter", "air_pump":
		return choiceText(p, []logbook.Equipment{logbook.Running, logbook.Stopped, logbook.NotChecked, logbook.NotFitted}, sent)
	case "dead_cause":
		return choiceText(p, logbook.DeadCauses(), sent)
	case "stage", "life_stage":
		return choiceText(p, logbook.Stages(), sent)
	case "hatched":
		return choiceText(p, []logbook.Hatched{logbook.HatchedNone, logbook.HatchedFew, logbook.HatchedHalf, logbook.HatchedMost,
			logbook.HatchedAll}, sent)
	case "water": // of a check; of a release it is a temperature
		return choiceText(p, []logbook.Water{logbook.WaterClear, logbook.WaterCloudy, logbook.WaterFoam, logbook.WaterFilm}, sent)
	case "fungus":
		return choiceText(p, []logbook.Sighting{logbook.Seen, logbook.NotSeen}, sent)
	case "kind":
		return choiceText(p, logbook.EventKinds(), sent)
	case "method":
		return choiceText(p, logbook.CountMethods(), sent)
	case "health":
		return choiceText(p, logbook.HealthStatements(), sent)
	case "oxygen":
		return choiceText(p, logbook.OxygenSupplies(), sent)
	case "reason":
		return ReasonText(p, sent)
	}
	return sent
}

func choiceText[T interface {
	~string
	MessageKey() string
}](p *i18n.Printer, list []T, sent string) string {
	if v := T(sent); slices.Contains(list, v) {
		return p.T(v.MessageKey())
	}
	return sent
}
