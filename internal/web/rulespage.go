package web

import "github.com/go-chi/chi/v5"

// rulesRoutes are the list of rules with today's thresholds.
func (s *Server) rulesRoutes(r chi.Router) {
}
