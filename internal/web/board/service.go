// Package board holds the board of all tanks, a keeper's morning and the comparison of tanks:
// handlers, view models, templates and styles in one folder.
package board

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
		Everyone:    req.Routes{s.boardRoutes},
		Staff:       req.Routes{s.morningRoutes},
		Coordinator: req.Routes{s.compareRoutes, s.boardViewRoutes},
	}
}
