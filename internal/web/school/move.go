package school

import (
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// moveTime is how long a file may be on its way between a browser and this program.
const moveTime = 30 * time.Minute

// moveRoutes are the way out of a computer.
func (s *Service) moveRoutes(r chi.Router) { r.Post(computerPath+"/file", s.Page(s.moveOut)) }

// moveOut hands out the logbook as one checked file.
func (s *Service) moveOut(w http.ResponseWriter, r *http.Request) error {
	now := req.Of(r).Now
	send, done, err := s.DB.PackMove(r.Context(), now)
	if err != nil {
		return err
	}
	defer done()
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(moveTime)) // a test's writer has none
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Disposition", `attachment; filename="`+store.MoveName(now)+`"`)
	if err := send(w); err != nil {
		panic(http.ErrAbortHandler) // the browser is to see that the file is not whole
	}
	return nil
}

// mayMoveIn reports whether this is a new computer, and the one who set it up asks.
func (s *Service) mayMoveIn(r *http.Request) bool {
	return req.Of(r).Programme.ID == "" && s.Sessions.GetBool(r.Context(), keySetup) && s.Computer.Replace != nil
}

func (s *Service) moveInShow(w http.ResponseWriter, r *http.Request) error {
	if !s.mayMoveIn(r) {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	return s.Render(w, r, http.StatusOK, MoveInPage(MoveIn{Page: s.NewPage(r, "move.in_title", "")}))
}

// moveIn takes the file of another computer, checks it and has it put in place.
func (s *Service) moveIn(w http.ResponseWriter, r *http.Request) error {
	if !s.mayMoveIn(r) {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	m := MoveIn{Page: s.NewPage(r, "move.in_title", "")}
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(moveTime))
	backup, err := s.receive(r)
	if e := refusal(req.Of(r).P, err); e != "" {
		m.Problem, m.Error = e, true
		return s.Render(w, r, http.StatusUnprocessableEntity, MoveInPage(m))
	}
	if err != nil {
		return err
	}
	s.Log.Info("logbook of another computer taken", "id", req.Of(r).ID)
	m.Taken = true
	err = s.Render(w, r, http.StatusOK, MoveInPage(m))
	s.Computer.Replace(backup)
	return err
}

// refusal is what a refused file is told with, "" for another error.
func refusal(p *i18n.Printer, err error) string {
	var e *logbook.Error
	if !errors.As(err, &e) || e.Kind == logbook.Internal {
		return ""
	}
	return p.T(e.Key, e.Args)
}

// receive stores the sent file, and returns the checked backup in it, which lies
// beside the logbook.
func (s *Service) receive(r *http.Request) (backup string, err error) {
	mr, err := r.MultipartReader()
	if err != nil {
		return "", logbook.Errorf(logbook.Invalid, "move.file.empty", nil)
	}
	data := filepath.Dir(s.DB.Path())
	dir, err := os.MkdirTemp(data, ".moving-in-*")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	for {
		part, err := mr.NextPart()
		if err == io.EOF {
			return "", logbook.Errorf(logbook.Invalid, "move.file.empty", nil)
		}
		if err != nil {
			return "", form.Unreadable(err)
		}
		if part.FormName() != "file" || part.FileName() == "" {
			continue
		}
		file := filepath.Join(dir, "sent.zip")
		out, err := os.OpenFile(file, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err != nil {
			return "", err
		}
		_, err = io.Copy(out, part)
		if cerr := out.Close(); err != nil || cerr != nil {
			return "", form.Unreadable(err)
		}
		checked, err := store.UnpackMove(r.Context(), file, entries.CleanFileName(part.FileName()), dir)
		if err != nil {
			return "", err
		}
		backup = filepath.Join(data, "moved-in.db")
		_ = os.Remove(backup)
		if err := os.Rename(checked+".json", backup+".json"); err != nil {
			return "", err
		}
		return backup, os.Rename(checked, backup)
	}
}
