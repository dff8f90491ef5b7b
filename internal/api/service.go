// Package api holds the JSON interface: routes, shapes and the document that describes them.
package api

import "reddside/internal/web/req"

// Service answers the requests of this area.
type Service struct {
	*req.Kernel
}

// New returns the area.
func New(k *req.Kernel) *Service { return &Service{Kernel: k} }
