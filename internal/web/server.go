// Package web puts the areas together: one route table over the pages and the
// JSON interface, and the background work.
package web

import (
	"io/fs"
	"net/http"

	"reddside/internal/api"
	"reddside/internal/calc"
	"reddside/internal/web/board"
	"reddside/internal/web/care"
	"reddside/internal/web/class"
	"reddside/internal/web/entry"
	"reddside/internal/web/flags"
	"reddside/internal/web/help"
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

// Computer is where the server runs.
type Computer = req.Computer

// areas are the rooms of pages with their style sheets. A new one is a folder and a
// line here.
var areas = []struct {
	styles fs.FS
	open   func(*req.Kernel) req.Area
}{
	{board.Styles, board.Area},
	{care.Styles, care.Area},
	{class.Styles, class.Area},
	{entry.Styles, entry.Area},
	{flags.Styles, flags.Area},
	{nil, help.Area},
	{imports.Styles, imports.Area},
	{nil, limits.Area},
	{plan.Styles, plan.Area},
	{reports.Styles, reports.Area},
	{school.Styles, school.Area},
	{tank.Styles, tank.Area},
}

// Server answers requests. It is safe for concurrent use.
type Server struct {
	*req.Kernel
	api  *api.Service
	calc *calc.Service
}

// New returns a server, or an error when its texts or assets cannot be read.
func New(o Options) (*Server, error) {
	var styles []fs.FS
	for _, a := range areas {
		if a.styles != nil {
			styles = append(styles, a.styles)
		}
	}
	k, err := req.New(o, styles...)
	if err != nil {
		return nil, err
	}
	k.CurrentRow = api.CurrentRow
	s := &Server{Kernel: k, api: api.New(k), calc: calc.New(k)}
	var rooms []req.Area
	for _, a := range areas {
		rooms = append(rooms, a.open(k))
	}
	k.Handler = s.routes(rooms)
	return s, nil
}

// ServeHTTP implements http.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.Handler.ServeHTTP(w, r) }
