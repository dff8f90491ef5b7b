// Package school holds schools, tanks, lots, people, tablets, duty, the calendar and the first set-up:
// handlers, view models, templates and styles in one folder.
package school

import (
	"embed"

	"reddside/internal/web/req"
)

// Styles are the style sheets of this area.
//
//go:embed *.css
var Styles embed.FS

// Service answers the requests of this area.
type Service struct {
	*req.Kernel
	pairing *pairPace
}

// Area returns the pages of this area.
func Area(k *req.Kernel) req.Area {
	s := &Service{Kernel: k, pairing: NewPairPace()}
	return req.Area{
		Plain:       req.Routes{s.feedRoutes},
		Open:        req.Routes{s.setupRoutes, s.pairRoutes},
		Staff:       req.Routes{s.manageRoutes, s.calendarRoutes, s.tabletRoutes, s.dutyRoutes, s.computerRoutes},
		Coordinator: req.Routes{s.coordinatorRoutes, s.permitWrites, s.yearRoutes, s.copiesRoutes, s.moveRoutes},
	}
}
