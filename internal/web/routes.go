package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"reddside/internal/logbook"
)

// routes is the whole route table, grouped by who may come in. Which site's rows
// an actor may see is checked where the rows are loaded.
func (s *Server) routes() http.Handler {
	r := chi.NewRouter()
	r.Use(s.frame, s.knownHost, s.sameOrigin, s.limitBody, s.readOnly, middleware.GetHead, compressed())
	r.MethodNotAllowed(func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, http.StatusMethodNotAllowed, "error.method")
	})
	r.Get("/healthz", s.healthz)
	r.Get("/static/*", s.assets.ServeHTTP)
	r.Get("/calendar/{token}.ics", s.page(s.calendarFeed))

	everyone := []logbook.Role{logbook.Coordinator, logbook.Keeper, logbook.Class}
	staff := []logbook.Role{logbook.Coordinator, logbook.Keeper}

	r.Group(func(r chi.Router) {
		r.Use(s.sessions.LoadAndSave, s.identify)
		r.Get("/", s.page(s.home))
		r.Get("/sign-in", s.page(s.signInShow))
		r.Post("/sign-in", s.page(s.signInDo))
		r.Post("/sign-out", s.page(s.signOut))
		r.Post("/demo/sign-in", s.page(s.demoSignIn))
		r.Post("/language", s.page(s.languageSet))
		r.Post("/units", s.page(s.unitSet))
		s.setupRoutes(r)
		s.calculatorRoutes(r)
		s.pairRoutes(r)

		entries := chi.NewRouter()
		entries.NotFound(s.page(s.notFound))
		entries.Group(func(r chi.Router) {
			r.Use(s.need(everyone...))
			r.Get(keptPage, s.page(s.keptShow))
			r.Post(keptPage, s.page(s.keptDecide))
			s.tankRoutes(r)
			s.forecastRoutes(r)
			s.careRoutes(r)
			s.checkRoutes(r)
			s.boardRoutes(r)
			s.todayRoutes(r)
			s.flagReadRoutes(r)
			s.survivalRoutes(r)
			s.classRoutes(r)
		})
		entries.Group(func(r chi.Router) {
			r.Use(s.need(staff...))
			s.eventRoutes(r)
			s.sampleRoutes(r)
			s.kitRoutes(r)
			s.planRoutes(r)
			s.importRoutes(r)
			s.manageRoutes(r)
			s.rulesRoutes(r)
			s.flagRoutes(r)
			s.reportRoutes(r)
			s.releaseRoutes(r)
			s.photoRoutes(r)
			s.calendarRoutes(r)
			s.tabletRoutes(r)
			s.dutyRoutes(r)
			s.noteRoutes(r)
			s.morningRoutes(r)
			s.roundRoutes(r)
		})
		entries.Group(func(r chi.Router) {
			r.Use(s.need(logbook.Coordinator))
			s.coordinatorRoutes(r)
			s.flagLoadRoutes(r)
			s.thresholdRoutes(r)
			s.programmeReportRoutes(r)
			s.replayRoutes(r)
			s.compareRoutes(r)
			s.boardViewRoutes(r)
			s.yearRoutes(r)
		})
		s.entries = entries
		r.Mount("/", entries)
	})
	r.Route("/api/v1", func(r chi.Router) {
		s.apiRoutes(r)
		s.calcRoutes(r)
	})
	return r
}

// compressed makes text smaller on the wire: a school's wireless network is slower
// than the computer. No page shows a secret beside what a stranger could put into
// its address, so that sizes tell nothing.
// A part of a file is sent as it is: its place is counted in the plain file.
func compressed() func(http.Handler) http.Handler {
	smaller := middleware.Compress(5, "text/html", "text/css", "text/javascript", "text/csv", "text/plain", "image/svg+xml",
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

func (s *Server) notFound(http.ResponseWriter, *http.Request) error { return logbook.Missing("page") }

// healthz answers 200 when the logbook can be read and written, else 503 with
// which of the two cannot be done, without any detail.
func (s *Server) healthz(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if err := s.db.Ping(r.Context()); err != nil {
		w.WriteHeader(http.StatusServiceUnavailable)
		_, _ = w.Write([]byte("not ready\n"))
		return
	}
	if err := s.db.Writable(r.Context()); err != nil {
		s.log.Warn("not ready to write", "err", err)
		w.WriteHeader(http.StatusServiceUnavailable)
		_, _ = w.Write([]byte("not ready to write\n"))
		return
	}
	_, _ = w.Write([]byte("ok\n"))
}

// home sends everybody to the page they start from.
func (s *Server) home(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	switch {
	case v.programme.ID == "":
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
	case !v.signedIn():
		http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	case v.actor.Role == logbook.Class:
		http.Redirect(w, r, "/today", http.StatusSeeOther)
	case v.actor.Role == logbook.Keeper:
		http.Redirect(w, r, "/morning", http.StatusSeeOther)
	default:
		http.Redirect(w, r, "/board", http.StatusSeeOther)
	}
	return nil
}
