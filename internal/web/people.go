package web

import "github.com/go-chi/chi/v5"

// coordinatorRoutes are accounts and what only a coordinator may do.
func (s *Server) coordinatorRoutes(r chi.Router) {
}
