package req

import (
	"reddside/internal/assess"
)

// ReaderZone is the zone that a reader's times are written in: of their school,
// or of the first school on the board.
func (s *Kernel) ReaderZone(v *Info, all []*assess.BoardEntry) string {
	for _, e := range all {
		if v.Actor.SiteID == "" || e.Site.ID == v.Actor.SiteID {
			return e.Site.Zone
		}
	}
	return "UTC"
}
