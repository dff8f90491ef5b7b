package req

import (
	"net/http"
	"reddside/internal/store"

	"reddside/internal/logbook"
	"reddside/internal/web/words"
)

func (s *Kernel) DeviceCookie() string {
	if s.TLS {
		return "__Host-" + CookieDevice
	}
	return CookieDevice
}

// identifyDevice makes the paired tablet whose cookie came along the actor.
func (s *Kernel) identifyDevice(w http.ResponseWriter, r *http.Request, v *Info) error {
	c, err := r.Cookie(s.DeviceCookie())
	if err != nil || c.Value == "" {
		return nil
	}
	d, err := s.DB.DeviceByToken(r.Context(), store.HashToken(c.Value), v.Now)
	if logbook.KindOf(err) == logbook.NotFound {
		return nil // withdrawn or ended: nobody
	}
	if err != nil {
		return err
	}
	v.Actor, v.Device = d.Actor(), true
	if _, err := r.Cookie(cookieKnown); err != nil && r.Method == http.MethodGet {
		// Paired before browsers were known, or its cookies were cleaned up.
		if err := s.KnowBrowser(w, r, v.Actor); err != nil {
			s.Log.Error("know browser of tablet", "id", v.ID, "err", err) // it can work without
		}
	}
	if r.Method == http.MethodPost && v.Now.Sub(d.LastEntryAt) > words.EntryNoteEvery {
		if err := s.DB.DeviceEntered(r.Context(), d.ID, v.Now); err != nil {
			s.Log.Error("note entry of tablet", "id", v.ID, "err", err) // it only informs
		}
	}
	return nil
}
