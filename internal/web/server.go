// Package web puts the areas together: one route table over the pages and the
// JSON interface, and the background work.
package web

import (
	"net/http"

	"reddside/internal/api"
	"reddside/internal/calc"
	"reddside/internal/web/board"
	"reddside/internal/web/care"
	"reddside/internal/web/class"
	"reddside/internal/web/entry"
	"reddside/internal/web/flags"
	"reddside/internal/web/imports"
	"reddside/internal/web/limits"
	"reddside/internal/web/plan"
	"reddside/internal/web/reports"
	"reddside/internal/web/req"
	"reddside/internal/web/school"
	"reddside/internal/web/tank"
)

// Options says how the server is to run.
type Options = req.Options

// Server answers requests. It is safe for concurrent use.
type Server struct {
	*req.Kernel
	api     *api.Service
	board   *board.Service
	calc    *calc.Service
	care    *care.Service
	class   *class.Service
	entry   *entry.Service
	flags   *flags.Service
	imports *imports.Service
	limits  *limits.Service
	plan    *plan.Service
	reports *reports.Service
	school  *school.Service
	tank    *tank.Service
}

// New returns a server, or an error when its texts or assets cannot be read.
func New(o Options) (*Server, error) {
	k, err := req.New(o, board.Styles, care.Styles, class.Styles, entry.Styles, flags.Styles, imports.Styles, plan.Styles,
		reports.Styles, school.Styles, tank.Styles)
	if err != nil {
		return nil, err
	}
	k.CurrentRow = api.CurrentRow
	s := &Server{
		Kernel: k, api: api.New(k), board: board.New(k), calc: calc.New(k), care: care.New(k), class: class.New(k),
		entry: entry.New(k), flags: flags.New(k), imports: imports.New(k), limits: limits.New(k), plan: plan.New(k),
		reports: reports.New(k), school: school.New(k),
	}
	s.tank = tank.New(k, s.reports.ReleaseNotice)
	k.Handler = s.routes()
	return s, nil
}

// ServeHTTP implements http.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.Handler.ServeHTTP(w, r) }
