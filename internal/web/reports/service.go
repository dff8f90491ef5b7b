// Package reports holds the guided days of delivery and release, and the reports:
// handlers, view models, templates and styles in one folder.
package reports

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
	k.ReleaseNotice = s.releaseNotice
	return req.Area{
		Staff:       req.Routes{s.reportRoutes, s.releaseRoutes, s.releasesRoutes},
		Coordinator: req.Routes{s.programmeReportRoutes, s.releasesFormRoutes},
	}
}
