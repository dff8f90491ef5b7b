package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// apiRoutes are the JSON interface. The calculators and the description need
// no sign-in and read nothing of the logbook.
func (s *Server) apiRoutes(r chi.Router) {
	r.NotFound(s.api(s.notFound))
	r.Get("/openapi.json", s.api(s.apiDocument))

	r.Group(func(r chi.Router) {
		r.Use(s.sessions.LoadAndSave, s.identify)
		r.Group(func(r chi.Router) {
			r.Use(s.need(logbook.Coordinator, logbook.Keeper, logbook.Class))
			r.Get("/board", s.api(s.apiBoard))
			r.Get("/seasons", s.api(s.apiSeasons))
			r.Get("/seasons/{seasonID}", s.api(s.apiSeason))
			r.Get("/seasons/{seasonID}/forecast", s.api(s.apiForecast))
			r.Get("/seasons/{seasonID}/flags", s.api(s.apiFlags))
			r.Get("/seasons/{seasonID}/guesses", s.api(s.apiGuesses))
			r.Post("/seasons/{seasonID}/guesses", s.api(s.apiGuessCreate))
			r.Post("/seasons/{seasonID}/checks", s.api(s.apiCheckCreate))
			r.Get("/checks/{checkID}", s.api(s.checkRows().show))
		})
		r.Group(func(r chi.Router) {
			r.Use(s.need(logbook.Coordinator, logbook.Keeper))
			s.apiStaffRoutes(r)
		})
		r.With(s.need(logbook.Coordinator)).Post("/sites", s.api(s.apiSiteCreate))
	})
}

func (s *Server) apiStaffRoutes(r chi.Router) {
	r.Get("/sites", s.api(s.apiSites))
	r.Get("/sites/{siteID}", s.api(s.apiSite))
	r.Patch("/sites/{siteID}", s.api(s.apiSitePatch))
	r.Get("/sites/{siteID}/tanks", s.api(s.apiTanks))
	r.Post("/sites/{siteID}/tanks", s.api(s.apiTankCreate))
	r.Get("/tanks/{tankID}", s.api(s.apiTank))
	r.Patch("/tanks/{tankID}", s.api(s.apiTankPatch))
	r.Get("/lots", s.api(s.apiLots))
	r.Post("/lots", s.api(s.apiLotCreate))
	r.Get("/lots/{lotID}", s.api(s.apiLot))
	r.Patch("/lots/{lotID}", s.api(s.apiLotPatch))
	r.Post("/seasons", s.api(s.apiSeasonCreate))
	r.Patch("/seasons/{seasonID}", s.api(s.apiSeasonPatch))
	r.Get("/seasons/{seasonID}/report", s.api(s.apiReport))
	r.Post("/seasons/{seasonID}/deliveries", s.api(s.apiDeliveryCreate))
	r.Post("/seasons/{seasonID}/events", s.api(s.apiEventCreate))
	r.Post("/seasons/{seasonID}/readings", s.api(s.apiReadings))
	r.Post("/seasons/{seasonID}/releases", s.api(s.apiReleaseCreate))
	r.Get("/releases/{releaseID}", s.api(s.releaseRows().show))
	r.Patch("/releases/{releaseID}", s.api(s.releaseRows().patch(s)))
	r.Get("/seasons/{seasonID}/notes", s.api(s.apiNotes))
	r.Post("/seasons/{seasonID}/notes", s.api(s.apiNoteCreate))
	r.Get("/seasons/{seasonID}/plan", s.api(s.apiPlan))
	r.Post("/seasons/{seasonID}/plan", s.api(s.apiPlanUse))
	r.Patch("/checks/{checkID}", s.api(s.checkRows().patch(s)))
	r.Delete("/checks/{checkID}", s.api(s.checkRows().takeBack(s)))
	r.Get("/events/{eventID}", s.api(s.eventRows().show))
	r.Get("/samples/{sampleID}", s.api(s.sampleRows().show))
	r.Patch("/samples/{sampleID}", s.api(s.sampleRows().patch(s)))
	r.Delete("/samples/{sampleID}", s.api(s.sampleRows().takeBack(s)))
	r.Post("/seasons/{seasonID}/samples", s.api(s.apiSampleCreate))
	r.Patch("/events/{eventID}", s.api(s.eventRows().patch(s)))
	r.Delete("/events/{eventID}", s.api(s.eventRows().takeBack(s)))
	r.Get("/deliveries/{deliveryID}", s.api(s.deliveryRows().show))
	r.Patch("/deliveries/{deliveryID}", s.api(s.deliveryRows().patch(s)))
	r.Delete("/deliveries/{deliveryID}", s.api(s.deliveryRows().takeBack(s)))
	r.Get("/export", s.api(s.apiExport))
}

// api turns a handler into an http.HandlerFunc that answers errors as problem
// documents.
func (s *Server) api(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.failAPI(w, r, err)
		}
	}
}

// writeJSON answers with a value. It is encoded before the status is sent, so
// that a value that JSON cannot hold is an error and not half an answer.
func writeJSON(w http.ResponseWriter, status int, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("encode answer: %w", err)
	}
	h := w.Header()
	h.Set("Content-Type", "application/json; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, _ = w.Write(append(b, '\n')) // a client that went away is no error of ours
	return nil
}

// list is the answer of every list.
type list[T any] struct {
	Items []T `json:"items"`
}

func listOf[A, B any](rows []A, out func(*A) B) list[B] {
	l := list[B]{Items: make([]B, 0, len(rows))}
	for i := range rows {
		l.Items = append(l.Items, out(&rows[i]))
	}
	return l
}

// urlID is an id of the address.
func urlID(r *http.Request, name string) logbook.ID { return logbook.ID(chi.URLParam(r, name)) }

// setETag names the revision of the answer, for If-Match.
func setETag(w http.ResponseWriter, revision int64) {
	w.Header().Set("ETag", `"`+strconv.FormatInt(revision, 10)+`"`)
}

// ifMatch refuses an edit that does not say from which revision it started, or
// that started from an old one (RFC 9110, 13.1.1; RFC 6585 for 428).
func ifMatch(r *http.Request, revision int64) error {
	sent := r.Header.Values("If-Match")
	if len(sent) == 0 {
		return logbook.Errorf(logbook.Conflict, "api.if_match", nil)
	}
	want := `"` + strconv.FormatInt(revision, 10) + `"`
	for _, tag := range strings.Split(strings.Join(sent, ","), ",") {
		if tag = strings.TrimSpace(tag); tag == want || tag == "*" {
			return nil
		}
	}
	return logbook.Errorf(logbook.Conflict, "error.stale", nil)
}

// ifMatchRow is ifMatch for a row that is shown beside the refusal.
func ifMatchRow[T any](r *http.Request, revision int64, row T) error {
	err := ifMatch(r, revision)
	if e, ok := err.(*logbook.Error); ok && e.Key == "error.stale" {
		e.Err = &store.Current[T]{Row: row}
	}
	return err
}

// maxKey bounds an Idempotency-Key in characters.
const maxKey = 200

// onceFor reads the Idempotency-Key of a create. A create without one is
// allowed: it is then not protected from being sent twice.
func onceFor(r *http.Request, payload any) (store.Once, error) {
	if r.Header.Values("Idempotency-Key") == nil {
		return store.Once{}, nil
	}
	// The draft standard writes the key as a quoted string; plain is as good.
	key := strings.Trim(strings.TrimSpace(r.Header.Get("Idempotency-Key")), `"`)
	if key == "" || len(key) > maxKey {
		return store.Once{}, logbook.Refuse([]logbook.Problem{{Field: "Idempotency-Key", Key: "api.key", Args: logbook.Args{"Max": maxKey}}})
	}
	print, err := fingerprint(payload)
	if err != nil {
		return store.Once{}, err
	}
	return store.Once{Key: key, Route: r.Method + " " + r.URL.Path, Fingerprint: print}, nil
}

// renamed gives problems the names of the JSON fields where they differ from
// those of the domain.
func renamed(problems []logbook.Problem, names map[string]string) []logbook.Problem {
	for i := range problems {
		if n := names[problems[i].Field]; n != "" {
			problems[i].Field = n
		}
	}
	return problems
}

// once is onceFor, and whether the key has its answer already: then the entry
// was judged when it first came and is not judged again.
func (s *Server) once(r *http.Request, payload any) (once store.Once, answered bool, err error) {
	if once, err = onceFor(r, payload); err != nil || once.Key == "" {
		return once, false, err
	}
	answered, err = s.db.Answered(r.Context(), visitOf(r).actor, once)
	return once, answered, err
}
