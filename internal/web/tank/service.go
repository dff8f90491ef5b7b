// Package tank holds the page of a tank: charts, log, notes, photographs and survival:
// handlers, view models, templates and styles in one folder.
package tank

import (
	"embed"
	"sync"

	"reddside/internal/web/req"
)

// Styles are the style sheets of this area.
//
//go:embed *.css
var Styles embed.FS

// Service answers the requests of this area.
type Service struct {
	*req.Kernel
	pictures sync.Mutex // held while a photograph is worked on
}

// Area returns the pages of this area.
func Area(k *req.Kernel) req.Area {
	s := &Service{Kernel: k}
	return req.Area{
		Everyone: req.Routes{s.tankRoutes, s.survivalRoutes, s.photoRoutes},
		Staff:    req.Routes{s.photoStaffRoutes, s.noteRoutes},
	}
}
