package assess

import (
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Today is the date on the wall of a site now.
func (s *Service) Today(site logbook.Site, now time.Time) civil.Date {
	loc, known := s.zones.Load(site.Zone)
	if !known {
		loc, _ = s.zones.LoadOrStore(site.Zone, site.Location())
	}
	return civil.In(now, loc.(*time.Location))
}
