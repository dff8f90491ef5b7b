// Package care holds what to do: failures, water, food, test kits and the calculators:
// handlers, view models, templates and styles in one folder.
package care

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
		Open:     req.Routes{s.calculatorRoutes},
		Everyone: req.Routes{s.careRoutes},
		Staff:    req.Routes{s.kitRoutes},
	}
}
