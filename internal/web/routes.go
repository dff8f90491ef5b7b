package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"reddside/internal/logbook"
	"reddside/internal/web/req"
)

// routes is the whole route table, grouped by who may come in. Which site's rows
// an actor may see is checked where the rows are loaded.
func (s *Server) routes(rooms []req.Area) http.Handler {
	r := chi.NewRouter()
	r.Use(s.Frame, s.KnownHost, s.SameOrigin, s.LimitBody, s.ReadOnly, middleware.GetHead, compressed(), s.OneView)
	r.MethodNotAllowed(func(w http.ResponseWriter, r *http.Request) {
		s.Refuse(w, r, http.StatusMethodNotAllowed, "error.method")
	})
	r.Get("/healthz", s.healthz)
	r.Get("/static/*", s.Assets.ServeHTTP)
	for _, room := range rooms {
		room.Plain.Add(r)
	}

	everyone := []logbook.Role{logbook.Coordinator, logbook.Keeper, logbook.Class}
	staff := []logbook.Role{logbook.Coordinator, logbook.Keeper}

	r.Group(func(r chi.Router) {
		r.Use(s.Sessions.LoadAndSave, s.Identify)
		r.Get("/", s.Page(s.home))
		r.Get("/sign-in", s.Page(s.SignInShow))
		r.Post("/sign-in", s.Page(s.SignInDo))
		r.Post("/sign-out", s.Page(s.SignOut))
		r.Post("/demo/sign-in", s.Page(s.DemoSignIn))
		r.Post("/language", s.Page(s.LanguageSet))
		r.Post("/units", s.Page(s.UnitSet))
		for _, room := range rooms {
			room.Open.Add(r)
		}

		entries := chi.NewRouter()
		entries.NotFound(s.Page(s.NotFound))
		entries.Group(func(r chi.Router) {
			r.Use(s.Need(everyone...))
			r.Get(req.PendingPath, s.Page(s.PendingShow))
			r.Post(req.PendingPath, s.Page(s.PendingDecide))
			for _, room := range rooms {
				room.Everyone.Add(r)
			}
		})
		entries.Group(func(r chi.Router) {
			r.Use(s.Need(staff...))
			for _, room := range rooms {
				room.Staff.Add(r)
			}
		})
		entries.Group(func(r chi.Router) {
			r.Use(s.Need(logbook.Coordinator))
			for _, room := range rooms {
				room.Coordinator.Add(r)
			}
		})
		s.Pages = entries
		r.Mount("/", entries)
	})
	r.Route("/api/v1", func(r chi.Router) {
		s.api.APIRoutes(r)
		s.calc.CalcRoutes(r)
	})
	return r
}

// compressed makes text smaller on the wire: a school's wireless network is slower
// than the computer. No page shows a secret beside what a stranger could put into
// its address, so that sizes tell nothing.
// A part of a file is sent as it is: its place is counted in the plain file.
func compressed() func(http.Handler) http.Handler {
	smaller := middleware.Compress(5, "text/html", "text/css", "text/javascript", "text/csv", "text/plain",
		"image/svg+xml",
		"application/json", "application/problem+json", "application/javascript")
	return func(next http.Handler) http.Handler {
		small := smaller(next)
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.Header.Get("Range") != "" {
				next.ServeHTTP(w, r)
				return
			}
			small.ServeHTTP(w, r)
		})
	}
}

// healthz answers 200 when the logbook can be read and written, else 503 with
// which of the two cannot be done, without any detail.
func (s *Server) healthz(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if err := s.DB.Ping(r.Context()); err != nil {
		w.WriteHeader(http.StatusServiceUnavailable)
		_, _ = w.Write([]byte("not ready\n"))
		return
	}
	if err := s.DB.Writable(r.Context()); err != nil {
		s.Log.Warn("not ready to write", "err", err)
		w.WriteHeader(http.StatusServiceUnavailable)
		_, _ = w.Write([]byte("not ready to write\n"))
		return
	}
	_, _ = w.Write([]byte("ok\n"))
}

// home sends everybody to the page they start from.
func (s *Server) home(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	switch {
	case v.Programme.ID == "":
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
	case !v.SignedIn():
		http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	case v.Actor.Role == logbook.Class:
		http.Redirect(w, r, "/today", http.StatusSeeOther)
	case v.Actor.Role == logbook.Keeper:
		http.Redirect(w, r, "/morning", http.StatusSeeOther)
	default:
		http.Redirect(w, r, "/board", http.StatusSeeOther)
	}
	return nil
}
