// Package entry holds the forms of what is seen and done: checks, events, samples and the round:
// handlers, view models, templates and styles in one folder.
package entry

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
}

// Area returns the pages of this area.
func Area(k *req.Kernel) req.Area {
	s := &Service{Kernel: k}
	return req.Area{
		Everyone: req.Routes{s.checkRoutes},
		Staff:    req.Routes{s.eventRoutes, s.sampleRoutes, s.roundRoutes},
	}
}
