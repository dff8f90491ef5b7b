// Package class holds the pages of a class, today's cards and the display for the wall:
// handlers, view models, templates and styles in one folder.
package class

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
		Everyone: req.Routes{s.todayRoutes, s.classRoutes},
	}
}
