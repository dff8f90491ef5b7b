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

// New returns the pages of this area.
func New(k *req.Kernel) *Service { return &Service{Kernel: k} }
