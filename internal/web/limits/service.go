// Package limits holds the rules with their limits, and what changed limits would have said:
// handlers, view models, templates and styles in one folder.
package limits

import "reddside/internal/web/req"

// Service answers the requests of this area.
type Service struct {
	*req.Kernel
}

// New returns the pages of this area.
func New(k *req.Kernel) *Service { return &Service{Kernel: k} }
