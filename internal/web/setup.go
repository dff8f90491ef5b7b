package web

import "github.com/go-chi/chi/v5"

// setupRoutes are the first-start pages.
func (s *Server) setupRoutes(r chi.Router) {
}
