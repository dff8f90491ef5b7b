package entry

import (
	"cmp"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// checkRoutes are the daily check: form, stored entry, correction.
func (s *Service) checkRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/checks/new", s.Page(s.checkNew))
	r.Post("/seasons/{seasonID}/checks", s.Page(s.checkCreate))
	r.Get("/checks/{checkID}", s.Page(s.checkShow))
	r.Get("/checks/{checkID}/correct", s.Page(s.checkEdit))
	r.Post("/checks/{checkID}/correct", s.Page(s.checkCorrect))
	r.Get("/checks/{checkID}/void", s.Page(s.checkVoiding().ask(s)))
	r.Post("/checks/{checkID}/void", s.Page(s.checkVoiding().store(s)))
}

// checkNew shows the empty form. Only day, slot and group are filled in.
func (s *Service) checkNew(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	today := s.Assess.Today(season.Site, v.Now)
	day, key := form.ParseDate(r.URL.Query().Get("on"))
	if key != "" {
		day = today
	}
	slot := logbook.Slot(r.URL.Query().Get("slot"))
	if slot.Order() < 0 {
		slot, _ = freeSlot(season, day)
	}
	f := form.NewForm()
	if !day.Before(today.AddDays(-1)) && !day.After(today) {
		f.Set("on", day.String())
	} else {
		f.Set("on", "other")
		f.Set("on_other", day.String())
	}
	f.Set("slot", string(slot))
	f.Set("slot_on", day.String())
	turn, err := s.DutyTurn(r.Context(), season.Site.ID, day)
	if err != nil {
		return err
	}
	f.Set("observer", cmp.Or(turn.Who, s.Sessions.GetString(r.Context(), keyObserver)))
	f.Set("key", string(logbook.NewID()))
	f.Set("opened", today.String())
	return s.renderCheckNew(w, r, http.StatusOK, season, f, day)
}

// keyObserver is the session value of the group that entered last on this
// device; it is metadata, so it is carried forward.
const keyObserver = "observer"

// freeSlot is the first slot of a day without a check; all is true when every
// slot is taken.
func freeSlot(s *logbook.Season, on civil.Date) (slot logbook.Slot, all bool) {
	for _, slot = range logbook.Slots() {
		if words.CheckAt(s, on, slot) == nil {
			return slot, false
		}
	}
	return slot, true
}

// checkCreate stores a check, or shows the form again with what is wrong.
func (s *Service) checkCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	c := readCheck(f, season)
	if on := f.Text("slot_on"); on != "" && on != c.On.String() {
		// The slot was the free one of another day: the first check of this one is no extra.
		c.Slot = logbook.Morning
		f.Set("slot", string(c.Slot))
	}
	if err := s.ReadTAN(r, f, &c, season); err != nil {
		return err
	}
	in := req.Sent(r, season, f)
	in.Opened, _ = civil.Parse(f.Text("opened"))
	saved, err := s.Entries.Checks().New(r.Context(), in, &c)
	if entries.IsMismatch(err) {
		// Sent again with other values, after the Back button: no repetition. The day
		// and slot decide, and the person sees both.
		in.Key = ""
		saved, err = s.Entries.Checks().New(r.Context(), in, &c)
	}
	keepConfirmed(f, c.Confirmed)
	if f.Refused(err); len(f.Problems) > 0 {
		return s.renderCheckNew(w, r, http.StatusUnprocessableEntity, season, f, c.On)
	}
	if have := entries.Current[logbook.Check](err); have != nil {
		return s.renderCheckTaken(w, r, season, have, &c, f)
	}
	if err != nil {
		return err
	}
	s.Sessions.Put(r.Context(), keyObserver, c.Observer)
	s.SetNotice(r, v.P.T("check_page.saved", logbook.Args{"Tank": season.Tank.Name, "On": saved.Row.On}))
	s.goOn(w, r, ui.CheckPath(saved.Row.ID))
	return nil
}

// goOn leads from a stored entry to its page.
func (s *Service) goOn(w http.ResponseWriter, r *http.Request, to string) {
	if !req.SentByScript(r) {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	w.Header().Set("Location", to)
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(http.StatusCreated)
}

// storedCheck loads the check of the address with its season, for an actor who may
// see it.
func (s *Service) storedCheck(r *http.Request) (*logbook.Check, *logbook.Season, error) {
	c, err := s.DB.Check(r.Context(), logbook.ID(chi.URLParam(r, "checkID")))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.DB.LoadSeason(r.Context(), c.SeasonID)
	if err != nil {
		return nil, nil, err
	}
	if !req.Of(r).Actor.MaySee(season.Site.ID) {
		return nil, nil, logbook.Missing("check")
	}
	return &c, season, nil
}
