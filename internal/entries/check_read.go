package entries

import (
	"slices"

	"reddside/internal/logbook"
)

// notFitted states equipment that the tank does not have, where nothing else
// was said. It comes after validation: a check that only says so is empty.
func NotFitted(c *logbook.Check, t logbook.Tank) {
	for _, e := range []struct {
		state *logbook.Equipment
		has   bool
	}{{&c.Chiller, t.HasChiller}, {&c.Filter, t.HasFilter}, {&c.AirPump, t.HasAirPump}} {
		if !e.has && *e.state == "" {
			*e.state = logbook.NotFitted
		}
	}
}

// without returns the season as it is without the check that c replaces or that
// holds its place: the same check sent twice must be judged the same twice.
func Without(s *logbook.Season, c, replace *logbook.Check) *logbook.Season {
	out := *s
	out.Checks = slices.DeleteFunc(slices.Clone(s.Checks), func(x logbook.Check) bool {
		if replace != nil {
			return x.ID == replace.ID
		}
		return x.On == c.On && x.Slot == c.Slot
	})
	return &out
}

// valueOf is the canonical value of a field that can be surprising.
func ValueOf(c *logbook.Check, field string) any {
	switch field {
	case "on":
		return c.On
	case "temperature":
		return c.Temperature
	case "stage":
		return c.Stage
	case "ph":
		return c.PH
	case "dead_eggs", "dead_alevins", "dead_fry":
		n, _ := c.Dead()
		return n
	}
	return nil
}
