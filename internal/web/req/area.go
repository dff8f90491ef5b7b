package req

import "github.com/go-chi/chi/v5"

// Routes add addresses to a router.
type Routes []func(chi.Router)

// Add adds them.
func (list Routes) Add(r chi.Router) {
	for _, add := range list {
		add(r)
	}
}

// Area is one room of pages: its routes, by who may come in.
type Area struct {
	Plain       Routes // no session is asked for
	Open        Routes // anybody, signed in or not
	Everyone    Routes // whoever is signed in
	Staff       Routes // coordinators and keepers
	Coordinator Routes
}
