package entries

import (
	"context"
	"strings"

	"reddside/internal/care"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
)

// careful asks for the reason of what kills eggs of the age they have: moving them
// while they are green (half of trout eggs shocked at 10 to 20 % of the way to hatch
// died; Crisp 1990, abstract read), and iodine near hatching (common practice, no
// source). A stage that somebody said goes before what the thermal units say.
func (s *Service) careful(ctx context.Context, in *Sent, e *logbook.Event) ([]logbook.Problem, error) {
	moves := e.Kind == logbook.MovedOut || e.Kind == logbook.MovedIn
	iodine := e.Kind == logbook.Treatment && isIodine(e.Treated.Product)
	if !moves && !iodine || e.Note != "" || e.On.IsZero() {
		return nil, nil
	}
	a, err := s.Assess.Assess(ctx, in.Season, in.Now)
	if err != nil {
		return nil, err
	}
	said := in.Season.SaidStage(e.On)
	// Where no temperature is known the eggs are at least as far as at delivery.
	index, known := a.Forecast.StartIndex, !a.Forecast.StartOn.IsZero() && !e.On.Before(a.Forecast.StartOn)
	if day := a.Forecast.DayOn(e.On); day != nil {
		index, known = day.Index, true
	}
	ask := func(key string) ([]logbook.Problem, error) { return []logbook.Problem{{Field: "note", Key: key}}, nil }
	switch {
	case moves && (said == logbook.GreenEgg || said == "" && known && index < forecast.EyedIndex):
		return ask("event.tender")
	case iodine && said.Order() < logbook.Alevin.Order() && known && care.NearHatch(index):
		return ask("event.iodine_late")
	}
	return nil, nil
}

// isIodine reports whether a product as people write it holds iodine: iodophor,
// povidone-iodine, iode.
func isIodine(product string) bool { return strings.Contains(strings.ToLower(product), "iod") }
