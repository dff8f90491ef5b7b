package web

import "github.com/go-chi/chi/v5"

// apiRoutes are the JSON interface.
func (s *Server) apiRoutes(r chi.Router) {
}
