package tank

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// noteRoutes are the notes between keeper and coordinator.
func (s *Service) noteRoutes(r chi.Router) {
	r.Get("/notes", s.Page(s.noteList))
	r.Get("/seasons/{seasonID}/notes", s.Page(s.noteShow))
	r.Post("/seasons/{seasonID}/notes", s.Page(s.noteCreate))
	r.Post("/seasons/{seasonID}/notes/seen", s.Page(s.noteSee))
	r.Get("/seasons/{seasonID}/notes/{noteID}/withdraw", s.Page(s.noteWithdrawAsk))
	r.Post("/seasons/{seasonID}/notes/{noteID}/withdraw", s.Page(s.noteWithdraw))
}

const routeNoteCreate = "POST /seasons/{id}/notes"

// noteThread is the thread of a season as a reader sees it.
func noteThread(v *req.Info, p *i18n.Printer, season *logbook.Season, notes []logbook.Note) ui.NoteThread {
	t := ui.NoteThread{Action: ui.SeasonPath(season.ID, "/notes"), Key: string(logbook.NewID())}
	for i := range notes {
		n := &notes[i]
		line := ui.NoteLine{ID: string(n.ID), Body: n.Body, By: words.ByRole(p, n.Entry),
			At:     words.AtSite(p, season.Site, n.ReceivedAt),
			Answer: n.AnswersID != "", Mine: n.By == v.Actor.Role, Unread: !n.Voided && !n.SeenBy(v.Actor.Role),
			Waits: n.Waits(notes)}
		if n.Voided {
			line.Withdrawn = p.T("note.withdrawn",
				logbook.Args{"By": n.ChangedLabel, "At": words.AtSite(p, season.Site, n.ChangedAt), "Reason": n.Reason})
		}
		line.CanAnswer = !n.Voided && !line.Mine
		line.CanWithdraw = !n.Voided && line.Mine
		for _, seen := range n.Seen {
			line.Seen = append(line.Seen,
				p.T("note.seen_by", logbook.Args{"By": seen.ByLabel, "At": words.AtSite(p, season.Site, seen.At)}))
		}
		if line.Unread {
			t.Unread++
		}
		t.Lines = append(t.Lines, line)
	}
	return t
}

func (s *Service) noteShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("answers", r.URL.Query().Get("answers"))
	return s.renderNotes(w, r, season, f)
}

func (s *Service) renderNotes(w http.ResponseWriter, r *http.Request, season *logbook.Season, f *form.Form) error {
	v := req.Of(r)
	notes, err := s.DB.Notes(r.Context(), season.ID)
	if err != nil {
		return err
	}
	m := NotesPage{Page: s.EntryPage(r, "note.title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: ui.SeasonPath(season.ID)}
	m.Styles = []string{"keeper.css"}
	m.Thread = noteThread(v, m.P, season, notes)
	m.Thread.Body, m.Thread.Asks = f.Raw("body"), f.Raw("asks") != ""
	if key := form.FormKey(f.Text("key")); key != "" {
		m.Thread.Key = key
	}
	for _, l := range m.Thread.Lines {
		if l.ID == f.Text("answers") && l.CanAnswer {
			m.Thread.Answers, m.Thread.AnswersText = l.ID, l.Body
		}
	}
	m.Thread.Problems = form.ShowProblems(m.P, f.Problems, func(field string) string { return m.T("note." + field) })
	status := http.StatusOK
	if m.Error = len(f.Problems) > 0; m.Error {
		status = http.StatusUnprocessableEntity
	}
	return s.Render(w, r, status, NotesPageView(m))
}

func (s *Service) noteCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	n := logbook.Note{SeasonID: season.ID, Body: form.ReadNote(f, "body"), Asks: f.Raw("asks") != "",
		AnswersID: logbook.ID(f.Text("answers"))}
	f.Add(n.Validate())
	if len(f.Problems) > 0 {
		return s.renderNotes(w, r, season, f)
	}
	err = entries.CreateOnce(form.FormKey(f.Text("key")), routeNoteCreate, n, func(once store.IdempotencyKey) error {
		_, err := s.DB.CreateNote(r.Context(), v.Actor, n, v.Now, once)
		return err
	})
	if err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("note.saved"))
	http.Redirect(w, r, ui.SeasonPath(season.ID, "/notes"), http.StatusSeeOther)
	return nil
}

func (s *Service) noteSee(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	if err := s.DB.SeeNotes(r.Context(), v.Actor, season.ID, v.Now); err != nil {
		return err
	}
	return s.FlagDone(w, r, v.P.T("note.seen_done"), season.ID)
}

// noteOf finds a note of the address that its reader wrote and may take back.
func (s *Service) noteOf(r *http.Request) (logbook.Note, *logbook.Season, error) {
	season, err := s.SeasonOf(r)
	if err != nil {
		return logbook.Note{}, nil, err
	}
	notes, err := s.DB.Notes(r.Context(), season.ID)
	if err != nil {
		return logbook.Note{}, nil, err
	}
	for _, n := range notes {
		if n.ID != req.URLID(r, "noteID") {
			continue
		}
		switch {
		case n.By != req.Of(r).Actor.Role:
			return n, nil, logbook.Errorf(logbook.Conflict, "note.not_yours", nil)
		case n.Voided:
			return n, nil, logbook.Errorf(logbook.Conflict, "error.voided", nil)
		}
		return n, season, nil
	}
	return logbook.Note{}, nil, logbook.Missing("note")
}

func (s *Service) noteWithdrawAsk(w http.ResponseWriter, r *http.Request) error {
	n, season, err := s.noteOf(r)
	if err != nil {
		return err
	}
	return s.noteWithdrawForm(w, r, n, season, form.NewForm())
}

func (s *Service) noteWithdrawForm(w http.ResponseWriter, r *http.Request, n logbook.Note, season *logbook.Season,
	f *form.Form) error {
	b := form.FormItems(s.Cat, req.Of(r).P, "note")
	b.Text("why", f.Raw("why"))
	path := ui.SeasonPath(season.ID, "/notes")
	m := s.FormPage(r, b, "withdraw", "board", path+"/"+string(n.ID)+"/withdraw", path)
	m.Intro = b.P.T("note.withdraw.intro", logbook.Args{"Body": n.Body})
	m.Hidden = []ui.Option{form.RevisionField(n.Revision)}
	return s.ShowForm(w, r, m, b, f.Problems)
}

func (s *Service) noteWithdraw(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	n, season, err := s.noteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	why, revision := form.ReadWhy(f), f.Revision()
	if len(f.Problems) > 0 {
		return s.noteWithdrawForm(w, r, n, season, f)
	}
	if _, err := s.DB.WithdrawNote(r.Context(), v.Actor, n.ID, revision, why, v.Now); err != nil {
		return err
	}
	return s.Saved(w, r, ui.SeasonPath(season.ID, "/notes"))
}

// noteList lists the notes that wait for the reader, to be seen or answered, and
// those of the reader's own side that have no answer yet.
func (s *Service) noteList(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	open, err := s.DB.OpenNotes(r.Context(), v.Actor)
	if err != nil {
		return err
	}
	entries, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	m := NoteList{Page: s.NewPage(r, "note.list", "board")}
	m.Styles = []string{"keeper.css"}
	for _, e := range entries {
		thread := open[e.SeasonID]
		for i := range thread {
			n := &thread[i]
			row := NoteRow{Href: ui.SeasonPath(e.SeasonID, "/notes"), Tank: e.Tank.Name, Site: e.Site.Name,
				Body:  n.Body,
				Waits: n.Waits(thread), By: words.ByRole(v.P, n.Entry), At: words.AtSite(v.P, e.Site, n.ReceivedAt)}
			switch {
			case words.NoteWaits(n, thread, v.Actor.Role):
				row.Href += "?answers=" + string(n.ID) + "#write"
				m.Rows = append(m.Rows, row)
			case n.By == v.Actor.Role && row.Waits:
				m.Own = append(m.Own, row)
			}
		}
	}
	return s.Render(w, r, http.StatusOK, NoteListPage(m))
}
