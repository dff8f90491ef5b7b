package api

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/req"
)

// APIRoutes are the JSON interface. The calculators and the description need
// no sign-in and read nothing of the logbook.
func (s *Service) APIRoutes(r chi.Router) {
	r.NotFound(s.API(s.NotFound))
	r.Get("/openapi.json", s.API(s.apiDocument))

	r.Group(func(r chi.Router) {
		r.Use(s.Sessions.LoadAndSave, s.Identify)
		r.Group(func(r chi.Router) {
			r.Use(s.Need(logbook.Coordinator, logbook.Keeper, logbook.Class))
			r.Get("/board", s.API(s.apiBoard))
			r.Get("/seasons", s.API(s.apiSeasons))
			r.Get("/seasons/{seasonID}", s.API(s.apiSeason))
			r.Get("/seasons/{seasonID}/forecast", s.API(s.apiForecast))
			r.Get("/seasons/{seasonID}/flags", s.API(s.apiFlags))
			r.Get("/seasons/{seasonID}/guesses", s.API(s.apiGuesses))
			r.Post("/seasons/{seasonID}/guesses", s.API(s.apiGuessCreate))
			r.Post("/seasons/{seasonID}/checks", s.API(s.checkRows().create(s)))
			r.Get("/checks/{checkID}", s.API(s.checkRows().show))
		})
		r.Group(func(r chi.Router) {
			r.Use(s.Need(logbook.Coordinator, logbook.Keeper))
			s.apiStaffRoutes(r)
		})
		r.Group(func(r chi.Router) {
			r.Use(s.Need(logbook.Coordinator))
			r.Post("/sites", s.API(s.apiSiteCreate))
			s.permitRows().write(r)
			s.placeRows().write(r)
			r.Patch("/permits/{permitID}/seasons", s.API(s.apiPermitAttach))
		})
	})
}

func (s *Service) apiStaffRoutes(r chi.Router) {
	r.Get("/sites", s.API(s.apiSites))
	r.Get("/sites/{siteID}", s.API(s.apiSite))
	r.Patch("/sites/{siteID}", s.API(s.apiSitePatch))
	r.Get("/sites/{siteID}/tanks", s.API(s.apiTanks))
	r.Post("/sites/{siteID}/tanks", s.API(s.apiTankCreate))
	r.Get("/tanks/{tankID}", s.API(s.apiTank))
	r.Patch("/tanks/{tankID}", s.API(s.apiTankPatch))
	r.Get("/tanks/{tankID}/ready", s.API(s.apiReady))
	r.Patch("/tanks/{tankID}/ready", s.API(s.apiReadyPatch))
	r.Get("/lots", s.API(s.apiLots))
	r.Post("/lots", s.API(s.apiLotCreate))
	r.Get("/lots/{lotID}", s.API(s.apiLot))
	r.Patch("/lots/{lotID}", s.API(s.apiLotPatch))
	r.Post("/seasons", s.API(s.apiSeasonCreate))
	r.Patch("/seasons/{seasonID}", s.API(s.apiSeasonPatch))
	r.Get("/seasons/{seasonID}/report", s.API(s.apiReport))
	r.Post("/seasons/{seasonID}/deliveries", s.API(s.deliveryRows().create(s)))
	r.Post("/seasons/{seasonID}/events", s.API(s.eventRows().create(s)))
	r.Post("/seasons/{seasonID}/readings", s.API(s.apiReadings))
	r.Delete("/seasons/{seasonID}/imports/{importID}", s.API(s.apiVoidImport))
	r.Post("/seasons/{seasonID}/releases", s.API(s.releaseRows().create(s)))
	r.Get("/releases/{releaseID}", s.API(s.releaseRows().show))
	r.Patch("/releases/{releaseID}", s.API(s.releaseRows().patch))
	r.Get("/seasons/{seasonID}/notes", s.API(s.apiNotes))
	r.Post("/seasons/{seasonID}/notes", s.API(s.apiNoteCreate))
	r.Get("/seasons/{seasonID}/plan", s.API(s.apiPlan))
	r.Post("/seasons/{seasonID}/plan", s.API(s.apiPlanUse))
	r.Patch("/checks/{checkID}", s.API(s.checkRows().patch))
	r.Delete("/checks/{checkID}", s.API(s.checkRows().takeBack))
	r.Get("/events/{eventID}", s.API(s.eventRows().show))
	r.Get("/samples/{sampleID}", s.API(s.sampleRows().show))
	r.Patch("/samples/{sampleID}", s.API(s.sampleRows().patch))
	r.Delete("/samples/{sampleID}", s.API(s.sampleRows().takeBack))
	r.Post("/seasons/{seasonID}/samples", s.API(s.sampleRows().create(s)))
	r.Patch("/events/{eventID}", s.API(s.eventRows().patch))
	r.Delete("/events/{eventID}", s.API(s.eventRows().takeBack))
	r.Get("/deliveries/{deliveryID}", s.API(s.deliveryRows().show))
	r.Patch("/deliveries/{deliveryID}", s.API(s.deliveryRows().patch))
	r.Delete("/deliveries/{deliveryID}", s.API(s.deliveryRows().takeBack))
	s.permitRows().read(r)
	s.placeRows().read(r)
	r.Get("/export", s.API(s.apiExport))
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

// keyOf reads the Idempotency-Key of a create. A create without one is allowed: it
// is then not protected from being sent twice.
func keyOf(r *http.Request) (string, error) {
	if r.Header.Values("Idempotency-Key") == nil {
		return "", nil
	}
	// The draft standard writes the key as a quoted string; plain is as good.
	key := strings.Trim(strings.TrimSpace(r.Header.Get("Idempotency-Key")), `"`)
	if key == "" || len(key) > maxKey {
		return "", logbook.Refuse([]logbook.Problem{{Field: "Idempotency-Key", Key: "api.key",
			Args: logbook.Args{"Max": maxKey}}})
	}
	return key, nil
}

// once is the key of a create with its payload, and whether it has its answer already: then the entry
// was judged when it first came and is not judged again.
func (s *Service) once(r *http.Request, payload any) (once store.IdempotencyKey, answered bool, err error) {
	key, err := keyOf(r)
	if err != nil || key == "" {
		return once, false, err
	}
	if once, err = store.NewIdempotencyKey(key, r.Method+" "+r.URL.Path, payload); err != nil {
		return once, false, err
	}
	answered, err = s.DB.Answered(r.Context(), req.Of(r).Actor, once)
	return once, answered, err
}
