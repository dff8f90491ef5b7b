// Package entries is the way to write: every entry, from whatever page, program,
// file or command it comes, is judged and stored here.
package entries

import (
	"reddside/internal/assess"
	"reddside/internal/store"
)

// Service stores entries. It is safe for concurrent use.
type Service struct {
	db     *store.DB
	Assess *assess.Service
}

// New returns a service over a store.
func New(db *store.DB, a *assess.Service) *Service { return &Service{db: db, Assess: a} }
