package web

import (
	"errors"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// checkRoutes are the daily check: form, stored entry, correction.
func (s *Server) checkRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/checks/new", s.page(s.checkNew))
	r.Post("/seasons/{seasonID}/checks", s.page(s.checkCreate))
	r.Get("/checks/{checkID}", s.page(s.checkShow))
	r.Get("/checks/{checkID}/correct", s.page(s.checkEdit))
	r.Post("/checks/{checkID}/correct", s.page(s.checkCorrect))
	r.Get("/checks/{checkID}/void", s.page(s.checkVoiding().ask(s)))
	r.Post("/checks/{checkID}/void", s.page(s.checkVoiding().store(s)))
}

const routeCheckCreate = "POST /seasons/{id}/checks"

// checkNew shows the empty form. Only day, slot and group are filled in.
func (s *Server) checkNew(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	today := s.today(season.Site, v.now)
	day, key := parseDate(r.URL.Query().Get("on"))
	if key != "" {
		day = today
	}
	slot := logbook.Slot(r.URL.Query().Get("slot"))
	if slot.Order() < 0 {
		slot, _ = freeSlot(season, day)
	}
	f := newForm()
	if !day.Before(today.AddDays(-1)) && !day.After(today) {
		f.set("on", day.String())
	} else {
		f.set("on", "other")
		f.set("on_other", day.String())
	}
	f.set("slot", string(slot))
	f.set("observer", s.sessions.GetString(r.Context(), keyObserver))
	f.set("key", string(logbook.NewID()))
	f.set("opened", today.String())
	return s.renderCheckNew(w, r, http.StatusOK, season, f, day)
}

// keyObserver is the session value of the group that entered last on this
// device; it is metadata, so it is carried forward.
const keyObserver = "observer"

// freeSlot is the first slot of a day without a check; all is true when every
// slot is taken.
func freeSlot(s *logbook.Season, on civil.Date) (slot logbook.Slot, all bool) {
	for _, slot = range logbook.Slots() {
		if checkAt(s, on, slot) == nil {
			return slot, false
		}
	}
	return slot, true
}

func checkAt(s *logbook.Season, on civil.Date, slot logbook.Slot) *logbook.Check {
	for i := range s.Checks {
		if c := &s.Checks[i]; c.On == on && c.Slot == slot {
			return c
		}
	}
	return nil
}

// checkCreate stores a check, or shows the form again with what is wrong.
func (s *Server) checkCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	c := readCheck(f, season)
	if err := s.readTAN(r, f, &c, season); err != nil {
		return err
	}
	opened, _ := civil.Parse(f.text("opened"))
	validateCheck(f, &c, checkValidation{season: season, today: s.today(season.Site, v.now), opened: opened})
	problems := len(f.problems) > 0
	keepConfirmed(f, &c)
	notFitted(&c, season.Tank)
	if problems {
		// An entry that is stored already, and comes again because its answer was
		// lost, is not judged again: a day later it would be another question.
		if known, err := s.checkKnown(r, &c, f.text("key")); err != nil {
			return err
		} else if !known {
			return s.renderCheckNew(w, r, http.StatusUnprocessableEntity, season, f, c.On)
		}
	}
	saved, err := s.saveCheck(r, season, c, f.text("key"))
	if have := current[logbook.Check](err); have != nil {
		return s.renderCheckTaken(w, r, season, have, &c, f)
	}
	if err != nil {
		return err
	}
	s.sessions.Put(r.Context(), keyObserver, c.Observer)
	s.setNotice(r, v.p.T("check_page.saved", logbook.Args{"Tank": season.Tank.Name, "On": saved.Row.On}))
	s.goOn(w, r, "/checks/"+string(saved.Row.ID))
	return nil
}

// headerWaiting marks an entry that a script sends, from its form or later from
// those that wait on the device. The script shows the page itself, so it gets a
// bare status: 201 with the address of what is stored, or 401.
const headerWaiting = "Reddside-Waiting"

func sentByScript(r *http.Request) bool { return r.Header.Get(headerWaiting) != "" }

// goOn leads from a stored entry to its page.
func (s *Server) goOn(w http.ResponseWriter, r *http.Request, to string) {
	if !sentByScript(r) {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	w.Header().Set("Location", to)
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(http.StatusCreated)
}

// checkKnown reports whether the same check was stored under the same key.
func (s *Server) checkKnown(r *http.Request, c *logbook.Check, key string) (bool, error) {
	once, err := checkOnce(c, key)
	if err != nil || once.Key == "" {
		return false, err
	}
	known, err := s.db.Answered(r.Context(), visitOf(r).actor, once)
	if isMismatch(err) {
		return false, nil
	}
	return known, err
}

func checkOnce(c *logbook.Check, key string) (store.Once, error) {
	print, err := fingerprint(*c)
	return store.Once{Key: formKey(key), Route: routeCheckCreate, Fingerprint: print}, err
}

// saveCheck stores a check once per key. A form sent again with other values,
// after the Back button, is no repetition: then the day and slot decide, and the
// person sees both.
func (s *Server) saveCheck(r *http.Request, season *logbook.Season, c logbook.Check, key string) (store.Saved[logbook.Check], error) {
	v := visitOf(r)
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return store.Saved[logbook.Check]{}, err
	}
	once, err := checkOnce(&c, key)
	if err != nil {
		return store.Saved[logbook.Check]{}, err
	}
	saved, err := s.db.SaveCheck(r.Context(), v.actor, c, v.now, store.Write{Once: once, After: after})
	if isMismatch(err) {
		saved, err = s.db.SaveCheck(r.Context(), v.actor, c, v.now, store.Write{After: after})
	}
	return saved, err
}

// formKey is the idempotency key of a form: ours, or nothing.
func formKey(key string) string {
	if len(key) != 26 {
		return ""
	}
	return key
}

func isMismatch(err error) bool {
	var e *logbook.Error
	return errors.As(err, &e) && e.Key == "error.idempotency.mismatch"
}

// current returns the stored row that stands in the way of a write, or nil.
func current[T any](err error) *T {
	var cur *store.Current[T]
	if errors.As(err, &cur) {
		return &cur.Row
	}
	return nil
}

// storedCheck loads the check of the address with its season, for an actor who may
// see it.
func (s *Server) storedCheck(r *http.Request) (*logbook.Check, *logbook.Season, error) {
	c, err := s.db.Check(r.Context(), logbook.ID(chi.URLParam(r, "checkID")))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.db.LoadSeason(r.Context(), c.SeasonID)
	if err != nil {
		return nil, nil, err
	}
	if !visitOf(r).actor.MaySee(season.Site.ID) {
		return nil, nil, logbook.Missing("check")
	}
	return &c, season, nil
}

// mayCorrect reports whether the actor may correct a check of a site of theirs.
// A class corrects what a class entered for today.
func mayCorrect(a logbook.Actor, c *logbook.Check, today civil.Date) bool {
	return a.Role != logbook.Class || (c.By == logbook.Class && c.On == today)
}
