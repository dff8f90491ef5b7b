package school

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"net/http"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// codeLetters are easy to tell apart in print: no 0, O, 1, l or I.
const codeLetters = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"

// NewSetupCode makes a one-time code for the first start, stores its hash and
// returns it for the console. It is refused once there is a programme.
func NewSetupCode(ctx context.Context, db *store.DB, now time.Time) (string, error) {
	code, err := newCode()
	if err != nil {
		return "", err
	}
	return spacedCode(code), db.StartSetup(ctx, store.HashToken(code), now)
}

// newCode makes eight random letters, a code of 39 bits that a person can copy.
func newCode() (string, error) {
	b := make([]byte, 8)
	if _, err := rand.Read(b); err != nil {
		return "", err
	}
	for i := range b {
		b[i] = codeLetters[int(b[i])%len(codeLetters)]
	}
	return string(b), nil
}

// spacedCode is a code as it is shown.
func spacedCode(code string) string { return code[:4] + "-" + code[4:] }

// cleanCode undoes how people copy a code.
func cleanCode(s string) string {
	return strings.ToUpper(strings.NewReplacer("-", "", " ", "").Replace(s))
}

func (s *Service) setupCodeForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	b := form.FormItems(s.Cat, req.Of(r).P, "setup")
	b.Text("setup_code", f.Raw("setup_code"))
	return s.ShowForm(w, r, s.setupPage(r, b, "code", 1), b, f.Problems)
}

func (s *Service) setupCode(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if wait := s.Tries.Try("setup", v.Now); wait > 0 {
		f.Fail("setup_code", "error.too_many", logbook.Args{"Seconds": int(wait.Seconds()) + 1})
		return s.setupCodeForm(w, r, f)
	}
	draft, err := s.DB.Setup(r.Context())
	if err != nil {
		return err
	}
	given := store.HashToken(cleanCode(f.Text("setup_code")))
	if draft.CodeHash == "" || subtle.ConstantTimeCompare([]byte(given), []byte(draft.CodeHash)) != 1 {
		f.Fail("setup_code", "setup.code.wrong", nil)
		return s.setupCodeForm(w, r, f)
	}
	s.Tries.Passed("setup")
	if err := s.Sessions.RenewToken(r.Context()); err != nil {
		return err
	}
	s.Sessions.Put(r.Context(), keySetup, true)
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}
