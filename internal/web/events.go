package web

import "github.com/go-chi/chi/v5"

// eventRoutes are what is done to a tank.
func (s *Server) eventRoutes(r chi.Router) {
}
