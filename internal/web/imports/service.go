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

// New returns the pages of this area.
func New(k *req.Kernel) *Service { return &Service{Kernel: k} }
