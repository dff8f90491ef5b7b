// Package tank holds the page of a tank: charts, log, notes, photographs and survival:
// handlers, view models, templates and styles in one folder.
package tank

import (
	"context"
	"embed"
	"sync"

	"reddside/internal/assess"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// Styles are the style sheets of this area.
//
//go:embed *.css
var Styles embed.FS

// Service answers the requests of this area.
type Service struct {
	*req.Kernel
	pictures sync.Mutex // held while a photograph is worked on
	// releaseNotice says that a release comes up.
	releaseNotice ReleaseNotice
}

// ReleaseNotice says on the page of a tank that its release comes up, and what
// is missing for it.
type ReleaseNotice func(context.Context, *req.Info, assess.Result) (ui.ReleaseNotice, error)

// New returns the pages of this area.
func New(k *req.Kernel, notice ReleaseNotice) *Service {
	return &Service{Kernel: k, releaseNotice: notice}
}
