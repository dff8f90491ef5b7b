package web

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// voiding is how one kind of entry is taken back on its page: the same steps for
// all of them. The entry stays readable.
type voiding[T any] struct {
	title string // key, with {{.Tank}}
	// of loads the entry of the address for somebody who may still change it.
	of    func(*http.Request) (*T, *logbook.Season, error)
	entry func(*T) (logbook.ID, *logbook.Entry)
	path  string // of its page, before the id
	lines func(view.Page, *T) []view.EntryLine
	void  func(context.Context, logbook.Actor, logbook.ID, int64, string, time.Time, store.After) (store.Saved[T], error)
}

// ask shows what would be taken back, and asks why.
func (k voiding[T]) ask(s *Server) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		have, season, err := k.of(r)
		if err != nil {
			return err
		}
		f := newForm()
		k.setRevision(f, have)
		return k.render(s, w, r, http.StatusOK, have, season, f)
	}
}

// store takes the entry back. When somebody changed it meanwhile, it shows what
// it says now, and asks again.
func (k voiding[T]) store(s *Server) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		v := visitOf(r)
		have, season, err := k.of(r)
		if err != nil {
			return err
		}
		f, err := readForm(r)
		if err != nil {
			return err
		}
		from, reason := f.revision(), formReason(f)
		if len(f.problems) > 0 {
			return k.render(s, w, r, http.StatusUnprocessableEntity, have, season, f)
		}
		after, err := s.FlagsAfter(r.Context(), season, v.now)
		if err != nil {
			return err
		}
		id, _ := k.entry(have)
		if _, err = k.void(r.Context(), v.actor, id, from, reason, v.now, after); err != nil {
			cur := current[T](err)
			if cur == nil {
				return err
			}
			f.fail("revision", "error.stale", nil)
			k.setRevision(f, cur)
			return k.render(s, w, r, http.StatusConflict, cur, season, f)
		}
		s.setNotice(r, v.p.T("check_page.voided"))
		http.Redirect(w, r, k.path+string(id), http.StatusSeeOther)
		return nil
	}
}

func (k voiding[T]) setRevision(f *form, row *T) {
	_, e := k.entry(row)
	f.set("revision", strconv.FormatInt(e.Revision, 10))
}

func (k voiding[T]) render(s *Server, w http.ResponseWriter, r *http.Request, status int, row *T, season *logbook.Season, f *form) error {
	id, _ := k.entry(row)
	href := k.path + string(id)
	m := view.EntryVoid{Page: s.entryPage(r, k.title, season), Action: href + "/void", Cancel: href,
		Tank: season.Tank.Name, Site: season.Site.Name, TankHref: "/seasons/" + string(season.ID)}
	m.Intro = m.T("check_page.void_intro")
	m.Lines = k.lines(m.Page, row)
	m.Reasons = reasonOptions(m.P)
	m.Revision = f.text("revision")
	m.Values = map[string]string{"reason": f.raw("reason"), "reason_text": f.raw("reason_text")}
	m.Problems = showProblems(m.P, f.problems, func(field string) string { return m.T("entry." + field) })
	m.Error = len(f.problems) > 0
	return s.render(w, r, status, view.EntryVoidPage(m))
}

func (s *Server) checkVoiding() voiding[logbook.Check] {
	return voiding[logbook.Check]{title: "check_page.void_title", of: s.correctable, path: "/checks/", void: s.db.VoidCheck,
		entry: func(c *logbook.Check) (logbook.ID, *logbook.Entry) { return c.ID, &c.Entry },
		lines: func(m view.Page, c *logbook.Check) []view.EntryLine {
			var out []view.EntryLine
			for _, field := range checkFields {
				if text := checkText(m.P, c, field); text != "" {
					out = append(out, view.EntryLine{Label: view.CheckFieldLabel(m, field, m.P.UnitSymbol()), Value: text})
				}
			}
			return out
		}}
}

func (s *Server) eventVoiding() voiding[logbook.Event] {
	return voiding[logbook.Event]{title: "event_page.void_title", of: s.changeable, path: "/events/", void: s.db.VoidEvent,
		entry: func(e *logbook.Event) (logbook.ID, *logbook.Entry) { return e.ID, &e.Entry },
		lines: func(m view.Page, e *logbook.Event) []view.EntryLine { return eventLines(m.P, e) }}
}

func (s *Server) sampleVoiding() voiding[logbook.Sample] {
	return voiding[logbook.Sample]{title: "sample.void_title", of: s.changeableSample, path: "/samples/", void: s.db.VoidSample,
		entry: func(x *logbook.Sample) (logbook.ID, *logbook.Entry) { return x.ID, &x.Entry },
		lines: func(m view.Page, x *logbook.Sample) []view.EntryLine { return sampleLines(m.P, x) }}
}
