package words

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

func CheckAt(s *logbook.Season, on civil.Date, slot logbook.Slot) *logbook.Check {
	for i := range s.Checks {
		if c := &s.Checks[i]; c.On == on && c.Slot == slot {
			return c
		}
	}
	return nil
}
