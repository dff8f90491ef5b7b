package web

import "github.com/go-chi/chi/v5"

// checkRoutes are the daily check: form, stored entry, correction.
func (s *Server) checkRoutes(r chi.Router) {
}
