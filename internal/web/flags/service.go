// Package flags holds the life of flags: lists, what people found, and who has seen what:
// handlers, view models, templates and styles in one folder.
package flags

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
		Everyone:    req.Routes{s.flagReadRoutes},
		Staff:       req.Routes{s.flagRoutes},
		Coordinator: req.Routes{s.flagLoadRoutes},
	}
}
