package web

import "github.com/go-chi/chi/v5"

// boardRoutes are the pages of all tanks.
func (s *Server) boardRoutes(r chi.Router) {
}
