package web

import "github.com/go-chi/chi/v5"

// manageRoutes are sites, tanks, lots, seasons and deliveries.
func (s *Server) manageRoutes(r chi.Router) {
}
