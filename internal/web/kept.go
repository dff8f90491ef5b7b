package web

import (
	"context"
	"crypto/rand"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// keptLifetime is how long an entry without a sign-in is kept.
const keptLifetime = 24 * time.Hour

// A device keeps the secrets of at most maxKeptTokens entries in its cookie, and
// an entry is at most maxKeptBody bytes: the forms of the logbook are small.
const (
	maxKeptTokens = 8
	maxKeptBody   = 32 << 10
)

// keepPost keeps the body of a POST that came without a sign-in, for the device
// that sent it, for a day.
func (s *Server) keepPost(w http.ResponseWriter, r *http.Request) error {
	if !keepable(r) {
		return nil
	}
	tokens, err := s.waitingTokens(r)
	if err != nil || len(tokens) >= maxKeptTokens {
		return err
	}
	body, err := io.ReadAll(r.Body)
	if err != nil || len(body) > maxKeptBody {
		return err
	}
	token, now := rand.Text(), visitOf(r).now
	post := store.KeptPost{Path: r.URL.Path, Body: string(body), ExpiresAt: now.Add(keptLifetime)}
	if err := s.db.KeepPost(r.Context(), secretHash(token), post, now); err != nil {
		return err
	}
	s.setKept(w, append(tokens, token))
	return nil
}

// keptTokens are the secrets of the entries that this device has waiting.
func keptTokens(r *http.Request) []string {
	c, err := r.Cookie(cookieKept)
	if err != nil || c.Value == "" {
		return nil
	}
	tokens := strings.Split(c.Value, ".")
	return tokens[:min(len(tokens), maxKeptTokens)]
}

// waitingTokens are those of keptTokens whose entries are still kept: the cookie
// lives on with each new entry, and those that ended must not fill it.
func (s *Server) waitingTokens(r *http.Request) ([]string, error) {
	var out []string
	for _, token := range keptTokens(r) {
		_, err := s.db.FindPost(r.Context(), secretHash(token), visitOf(r).now)
		switch {
		case err == nil:
			out = append(out, token)
		case logbook.KindOf(err) != logbook.NotFound:
			return nil, err
		}
	}
	return out, nil
}

func (s *Server) setKept(w http.ResponseWriter, tokens []string) {
	age := int(keptLifetime.Seconds())
	if len(tokens) == 0 {
		age = -1
	}
	http.SetCookie(w, &http.Cookie{Name: cookieKept, Value: strings.Join(tokens, "."), Path: "/", MaxAge: age,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
}

// keepable limits keeping to entries of the logbook, sent as plain forms.
func keepable(r *http.Request) bool {
	entry := strings.HasPrefix(r.URL.Path, "/sites/") && strings.HasSuffix(r.URL.Path, "/round")
	for _, prefix := range []string{"/seasons/", "/checks/", "/events/"} {
		entry = entry || strings.HasPrefix(r.URL.Path, prefix)
	}
	return entry && strings.HasPrefix(r.Header.Get("Content-Type"), "application/x-www-form-urlencoded") && r.ContentLength <= maxKeptBody
}

// resumeKept runs the kept entries of this device through their own handlers
// after sign-in, as if they had just been sent. The last one answers the
// request. An entry that this sign-in may not store stays for the next one. It
// reports whether it answered the request.
func (s *Server) resumeKept(w http.ResponseWriter, r *http.Request) bool {
	type waiting struct {
		token string
		post  store.KeptPost
	}
	var found []waiting
	for _, token := range keptTokens(r) {
		post, err := s.db.FindPost(r.Context(), secretHash(token), visitOf(r).now)
		switch {
		case err == nil:
			found = append(found, waiting{token, post})
		case logbook.KindOf(err) != logbook.NotFound:
			s.log.Error("find kept entry", "id", visitOf(r).id, "err", err)
			return false
		}
	}
	var left []string
	for i, x := range found {
		answer := httptest.NewRecorder()
		s.entries.ServeHTTP(answer, again(r, x.post))
		done := answer.Code < 400 || answer.Code == http.StatusUnprocessableEntity || answer.Code == http.StatusConflict
		if !done {
			left = append(left, x.token)
		} else if err := s.db.ForgetPost(r.Context(), secretHash(x.token)); err != nil {
			s.log.Error("forget kept entry", "id", visitOf(r).id, "err", err)
		}
		if i == len(found)-1 {
			s.setKept(w, left)
			copyAnswer(w, answer)
		}
	}
	return len(found) > 0
}

// again is the request of a kept entry, sent by who signed in now.
func again(r *http.Request, post store.KeptPost) *http.Request {
	out := r.Clone(r.Context())
	out.URL = &url.URL{Path: post.Path}
	out.Body = io.NopCloser(strings.NewReader(post.Body))
	out.ContentLength = int64(len(post.Body))
	out.Form, out.PostForm = nil, nil
	// The router of the entries starts afresh.
	return out.WithContext(context.WithValue(out.Context(), chi.RouteCtxKey, nil))
}

func copyAnswer(w http.ResponseWriter, answer *httptest.ResponseRecorder) {
	for name, values := range answer.Header() {
		for _, v := range values {
			w.Header().Add(name, v)
		}
	}
	w.WriteHeader(answer.Code)
	_, _ = w.Write(answer.Body.Bytes())
}
