// Package limits holds the rules with their limits, and what changed limits would have said:
// handlers, view models, templates and styles in one folder.
package limits

import "reddside/internal/web/req"

// Service answers the requests of this area.
type Service struct {
	*req.Kernel
}

// Area returns the pages of this area.
func Area(k *req.Kernel) req.Area {
	s := &Service{Kernel: k}
	return req.Area{
		Staff:       req.Routes{s.rulesRoutes},
		Coordinator: req.Routes{s.thresholdRoutes, s.replayRoutes},
	}
}
