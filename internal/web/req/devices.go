package req

import (
	"crypto/rand"
	"net/http"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
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

// knownLifetime is how long a browser is known after a sign-in; a local choice,
// longer than a summer.
const knownLifetime = 180 * 24 * time.Hour

// knownBrowser returns who signed in last in the browser of a request, and the
// hash of its secret; both empty for a browser that is not known.
func (s *Kernel) knownBrowser(r *http.Request) (owner, hash string, err error) {
	c, err := r.Cookie(cookieKnown)
	if err != nil || len(c.Value) != len(rand.Text()) {
		return "", "", nil
	}
	hash = store.HashToken(c.Value)
	owner, err = s.DB.BrowserOwner(r.Context(), hash, Of(r).Now)
	if owner == "" {
		hash = ""
	}
	return owner, hash, err
}

// KnowBrowser notes that the actor has signed in in this browser. A tablet stays
// its class's: what is sent from it later is the class's.
func (s *Kernel) KnowBrowser(w http.ResponseWriter, r *http.Request, a logbook.Actor) error {
	if _, err := r.Cookie(s.DeviceCookie()); err == nil && a.Role != logbook.Class {
		return nil
	}
	owner := store.OwnerOf(a)
	known, _, err := s.knownBrowser(r)
	if err != nil || known == owner {
		return err
	}
	token, now := rand.Text(), Of(r).Now
	if err := s.DB.KnowBrowser(r.Context(), store.HashToken(token), owner, now.Add(knownLifetime), now); err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: cookieKnown, Value: token, Path: "/", MaxAge: int(knownLifetime.Seconds()),
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.TLS})
	return nil
}

// triesKey is whose wrong tries of a passphrase are counted together: those of a
// browser in which the account signed in before, and those of all other browsers.
// So a stranger who has used up the tries of an account leaves those of its people.
func (s *Kernel) triesKey(r *http.Request, id logbook.ID) (string, error) {
	owner, hash, err := s.knownBrowser(r)
	if owner == string(id) {
		return string(id) + " " + hash, err
	}
	return string(id), err
}
