// Package calc holds the calculators of the JSON interface: typed questions and answers.
package calc

import "reddside/internal/web/req"

// Service answers the requests of this area.
type Service struct {
	*req.Kernel
}

// New returns the area.
func New(k *req.Kernel) *Service { return &Service{Kernel: k} }
