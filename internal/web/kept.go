package web

import (
	"crypto/rand"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// keptLifetime is how long an entry without a sign-in is kept.
const keptLifetime = 24 * time.Hour

// keepPost keeps the body of a POST that came without a sign-in, for the device
// that sent it, for a day.
func (s *Server) keepPost(w http.ResponseWriter, r *http.Request) error {
	if !keepable(r) {
		return nil
	}
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	token, now := rand.Text(), visitOf(r).now
	post := store.KeptPost{Path: r.URL.Path, Body: string(body), ExpiresAt: now.Add(keptLifetime)}
	if err := s.db.KeepPost(r.Context(), secretHash(token), post, now); err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: cookieKept, Value: token, Path: "/", MaxAge: int(keptLifetime.Seconds()),
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
	return nil
}

// keepable limits keeping to entries of the logbook, sent as plain forms.
func keepable(r *http.Request) bool {
	return strings.HasPrefix(r.Header.Get("Content-Type"), "application/x-www-form-urlencoded") &&
		(strings.HasPrefix(r.URL.Path, "/seasons/") || strings.HasPrefix(r.URL.Path, "/checks/") || strings.HasPrefix(r.URL.Path, "/events/")) && r.ContentLength <= maxBody
}

// resumeKept runs a kept entry through its own handler after sign-in, as if it
// had just been sent. It reports whether it answered the request.
func (s *Server) resumeKept(w http.ResponseWriter, r *http.Request) bool {
	c, err := r.Cookie(cookieKept)
	if err != nil {
		return false
	}
	http.SetCookie(w, &http.Cookie{Name: cookieKept, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
	post, err := s.db.TakePost(r.Context(), secretHash(c.Value), visitOf(r).now)
	if err != nil {
		if logbook.KindOf(err) != logbook.NotFound {
			s.log.Error("take kept entry", "id", visitOf(r).id, "err", err)
		}
		return false
	}
	again := r.Clone(r.Context())
	again.URL = &url.URL{Path: post.Path}
	again.Body = io.NopCloser(strings.NewReader(post.Body))
	again.ContentLength = int64(len(post.Body))
	again.Form, again.PostForm = nil, nil
	s.entries.ServeHTTP(w, again)
	return true
}
