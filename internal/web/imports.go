package web

import "github.com/go-chi/chi/v5"

// importRoutes are logger files.
func (s *Server) importRoutes(r chi.Router) {
}
