// Package imports holds logger files and files of checks, looked at before they are stored:
// handlers, view models, templates and styles in one folder.
package imports

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
		Staff: req.Routes{s.importRoutes},
	}
}
