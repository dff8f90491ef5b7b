package web

import "github.com/go-chi/chi/v5"

// tankRoutes are the pages of one tank and season.
func (s *Server) tankRoutes(r chi.Router) {
}
