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

// New returns the pages of this area.
func New(k *req.Kernel) *Service { return &Service{Kernel: k, pairing: NewPairPace()} }
