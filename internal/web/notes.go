package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// noteRoutes are the notes between keeper and coordinator.
func (s *Server) noteRoutes(r chi.Router) {
	r.Get("/notes", s.page(s.noteList))
	r.Get("/seasons/{seasonID}/notes", s.page(s.noteShow))
	r.Post("/seasons/{seasonID}/notes", s.page(s.noteCreate))
	r.Post("/seasons/{seasonID}/notes/seen", s.page(s.noteSee))
	r.Get("/seasons/{seasonID}/notes/{noteID}/withdraw", s.page(s.noteWithdrawAsk))
	r.Post("/seasons/{seasonID}/notes/{noteID}/withdraw", s.page(s.noteWithdraw))
}

const routeNoteCreate = "POST /seasons/{id}/notes"

// noteThread is the thread of a season as a reader sees it.
func noteThread(v *visit, p *i18n.Printer, season *logbook.Season, notes []logbook.Note) view.NoteThread {
	t := view.NoteThread{Action: "/seasons/" + string(season.ID) + "/notes", Key: string(logbook.NewID())}
	for i := range notes {
		n := &notes[i]
		line := view.NoteLine{ID: string(n.ID), Body: n.Body, By: byRole(p, n.Entry), At: atSite(p, season.Site, n.ReceivedAt),
			Answer: n.AnswersID != "", Mine: n.By == v.actor.Role, Unread: !n.Voided && !n.SeenBy(v.actor.Role), Waits: n.Waits(notes)}
		if n.Voided {
			line.Withdrawn = p.T("note.withdrawn", logbook.Args{"By": n.ChangedLabel, "At": atSite(p, season.Site, n.ChangedAt), "Reason": n.Reason})
		}
		line.CanAnswer = !n.Voided && !line.Mine
		line.CanWithdraw = !n.Voided && line.Mine
		for _, seen := range n.Seen {
			line.Seen = append(line.Seen, p.T("note.seen_by", logbook.Args{"By": seen.ByLabel, "At": atSite(p, season.Site, seen.At)}))
		}
		if line.Unread {
			t.Unread++
		}
		t.Lines = append(t.Lines, line)
	}
	return t
}

// noteWaits reports whether a note of the other side waits for a reader of a
// role: to be seen or to be answered.
func noteWaits(n *logbook.Note, thread []logbook.Note, role logbook.Role) bool {
	return !n.Voided && n.By != role && (!n.SeenBy(role) || n.Waits(thread))
}

func notesWaiting(thread []logbook.Note, role logbook.Role) int {
	n := 0
	for i := range thread {
		if noteWaits(&thread[i], thread, role) {
			n++
		}
	}
	return n
}

func (s *Server) noteShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f := newForm()
	f.set("answers", r.URL.Query().Get("answers"))
	return s.renderNotes(w, r, season, f)
}

func (s *Server) renderNotes(w http.ResponseWriter, r *http.Request, season *logbook.Season, f *form) error {
	v := visitOf(r)
	notes, err := s.db.Notes(r.Context(), season.ID)
	if err != nil {
		return err
	}
	m := view.NotesPage{Page: s.entryPage(r, "note.title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID)}
	m.Styles = []string{"keeper.css"}
	m.Thread = noteThread(v, m.P, season, notes)
	m.Thread.Body, m.Thread.Asks = f.raw("body"), f.raw("asks") != ""
	if key := formKey(f.text("key")); key != "" {
		m.Thread.Key = key
	}
	for _, l := range m.Thread.Lines {
		if l.ID == f.text("answers") && l.CanAnswer {
			m.Thread.Answers, m.Thread.AnswersText = l.ID, l.Body
		}
	}
	m.Thread.Problems = showProblems(m.P, f.problems, func(field string) string { return m.T("note." + field) })
	status := http.StatusOK
	if m.Error = len(f.problems) > 0; m.Error {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, r, status, view.NotesPageView(m))
}

func (s *Server) noteCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	n := logbook.Note{SeasonID: season.ID, Body: readNote(f, "body"), Asks: f.raw("asks") != "", AnswersID: logbook.ID(f.text("answers"))}
	f.add(n.Validate())
	if len(f.problems) > 0 {
		return s.renderNotes(w, r, season, f)
	}
	print, err := fingerprint(n)
	if err != nil {
		return err
	}
	once := store.Once{Key: formKey(f.text("key")), Route: routeNoteCreate, Fingerprint: print}
	_, err = s.db.CreateNote(r.Context(), v.actor, n, v.now, once)
	if isMismatch(err) { // the form was sent again with other words, after the Back button
		_, err = s.db.CreateNote(r.Context(), v.actor, n, v.now, store.Once{})
	}
	if err != nil {
		return err
	}
	s.setNotice(r, v.p.T("note.saved"))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+"/notes", http.StatusSeeOther)
	return nil
}

func (s *Server) noteSee(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	if err := s.db.SeeNotes(r.Context(), v.actor, season.ID, v.now); err != nil {
		return err
	}
	return s.flagDone(w, r, v.p.T("note.seen_done"), season.ID)
}

// noteOf finds a note of the address that its reader wrote and may take back.
func (s *Server) noteOf(r *http.Request) (logbook.Note, *logbook.Season, error) {
	season, err := s.seasonOf(r)
	if err != nil {
		return logbook.Note{}, nil, err
	}
	notes, err := s.db.Notes(r.Context(), season.ID)
	if err != nil {
		return logbook.Note{}, nil, err
	}
	for _, n := range notes {
		if n.ID != urlID(r, "noteID") {
			continue
		}
		switch {
		case n.By != visitOf(r).actor.Role:
			return n, nil, logbook.Errorf(logbook.Conflict, "note.not_yours", nil)
		case n.Voided:
			return n, nil, logbook.Errorf(logbook.Conflict, "error.voided", nil)
		}
		return n, season, nil
	}
	return logbook.Note{}, nil, logbook.Missing("note")
}

func (s *Server) noteWithdrawAsk(w http.ResponseWriter, r *http.Request) error {
	n, season, err := s.noteOf(r)
	if err != nil {
		return err
	}
	return s.noteWithdrawForm(w, r, n, season, newForm())
}

func (s *Server) noteWithdrawForm(w http.ResponseWriter, r *http.Request, n logbook.Note, season *logbook.Season, f *form) error {
	b := formItems(s.cat, visitOf(r).p, "note")
	b.text("why", f.raw("why"))
	path := "/seasons/" + string(season.ID) + "/notes"
	m := s.formPage(r, b, "withdraw", "board", path+"/"+string(n.ID)+"/withdraw", path)
	m.Intro = b.p.T("note.withdraw.intro", logbook.Args{"Body": n.Body})
	m.Hidden = []view.Option{revisionField(n.Revision)}
	return s.showForm(w, r, m, b, f.problems)
}

func (s *Server) noteWithdraw(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	n, season, err := s.noteOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	why, revision := readWhy(f), f.revision()
	if len(f.problems) > 0 {
		return s.noteWithdrawForm(w, r, n, season, f)
	}
	if _, err := s.db.WithdrawNote(r.Context(), v.actor, n.ID, revision, why, v.now); err != nil {
		return err
	}
	return s.saved(w, r, "/seasons/"+string(season.ID)+"/notes")
}

// noteList lists the notes that wait for the reader, to be seen or answered, and
// those of the reader's own side that have no answer yet.
func (s *Server) noteList(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	open, err := s.db.OpenNotes(r.Context(), v.actor)
	if err != nil {
		return err
	}
	entries, err := s.boardEntries(r.Context(), v.actor, v.now)
	if err != nil {
		return err
	}
	m := view.NoteList{Page: s.newPage(r, "note.list", "board")}
	m.Styles = []string{"keeper.css"}
	for _, e := range entries {
		thread := open[e.SeasonID]
		for i := range thread {
			n := &thread[i]
			row := view.NoteRow{Href: "/seasons/" + string(e.SeasonID) + "/notes", Tank: e.Tank.Name, Site: e.Site.Name, Body: n.Body,
				Waits: n.Waits(thread), By: byRole(v.p, n.Entry), At: atSite(v.p, e.Site, n.ReceivedAt)}
			switch {
			case noteWaits(n, thread, v.actor.Role):
				row.Href += "?answers=" + string(n.ID) + "#write"
				m.Rows = append(m.Rows, row)
			case n.By == v.actor.Role && row.Waits:
				m.Own = append(m.Own, row)
			}
		}
	}
	return s.render(w, r, http.StatusOK, view.NoteListPage(m))
}

// boardNotes tells on the board how many notes wait for the reader: to be seen or
// to be answered.
func (s *Server) boardNotes(r *http.Request, m *view.Board, shown []*boardEntry, rows []view.BoardRow) error {
	v := visitOf(r)
	if v.actor.Role == logbook.Class {
		return nil
	}
	open, err := s.db.OpenNotes(r.Context(), v.actor)
	if err != nil {
		return err
	}
	for _, thread := range open {
		m.Notes += notesWaiting(thread, v.actor.Role)
	}
	for i, e := range shown {
		rows[i].Notes = notesWaiting(open[e.SeasonID], v.actor.Role)
	}
	return nil
}
