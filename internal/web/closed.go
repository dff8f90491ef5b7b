package web

import (
	"fmt"
	"net/http"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

func (s *Server) closedNew(w http.ResponseWriter, r *http.Request) error {
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f := newForm()
	f.set("key", string(logbook.NewID()))
	return s.closedForm(w, r, site, "", f)
}

const routeClosedCreate = "POST /sites/{id}/closed-days"

// closedForm shows the form of closed days; a correction also asks why.
func (s *Server) closedForm(w http.ResponseWriter, r *http.Request, site logbook.Site, id logbook.ID, f *form) error {
	b := formItems(s.cat, visitOf(r).p, "closed")
	b.date("from", f.raw("from"), false)
	b.date("to", f.raw("to"), false)
	b.optionalText("reason", f.raw("reason"))
	path, verb := "/sites/"+string(site.ID), "new"
	action := path + "/closed-days"
	hidden := []view.Option{{Value: "key", Label: f.raw("key")}}
	if id != "" {
		verb, action = "correct", path+"/closed-days/"+string(id)+"/correct"
		hidden = []view.Option{{Value: "revision", Label: f.raw("revision")}}
		takeBackItems(b, f)
	}
	m := s.formPage(r, b, verb, "sites", action, path+"/duty")
	m.Intro, m.Hidden = b.p.T("closed.intro"), hidden
	return s.showForm(w, r, m, b, f.problems)
}

func readClosed(f *form, c logbook.ClosedSpan) logbook.ClosedSpan {
	c.From, c.To, c.Reason = f.date("from"), f.date("to"), f.text("reason")
	f.add(c.Validate())
	return c
}

func (s *Server) closedCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	span := readClosed(f, logbook.ClosedSpan{})
	if len(f.problems) > 0 {
		return s.closedForm(w, r, site, "", f)
	}
	print, err := fingerprint(span)
	if err != nil {
		return err
	}
	once := store.Once{Key: formKey(f.text("key")), Route: routeClosedCreate, Fingerprint: print}
	_, err = s.db.CreateClosedSpan(r.Context(), v.actor, site.ID, span, v.now, once)
	if isMismatch(err) { // the form was sent again with other days, after the Back button
		_, err = s.db.CreateClosedSpan(r.Context(), v.actor, site.ID, span, v.now, store.Once{})
	}
	if err != nil {
		return err
	}
	return s.saved(w, r, "/sites/"+string(site.ID)+"/duty")
}

// closedOf finds the closed days of the address among those of its site.
func (s *Server) closedOf(r *http.Request) (logbook.ClosedSpan, logbook.Site, error) {
	site, err := s.siteOf(r)
	if err != nil {
		return logbook.ClosedSpan{}, site, err
	}
	spans, err := s.db.ClosedSpans(r.Context(), site.ID)
	if err != nil {
		return logbook.ClosedSpan{}, site, err
	}
	for _, c := range spans {
		if c.ID == urlID(r, "spanID") {
			return c, site, nil
		}
	}
	return logbook.ClosedSpan{}, site, logbook.Missing("closed_span")
}

func (s *Server) closedEdit(w http.ResponseWriter, r *http.Request) error {
	c, site, err := s.closedOf(r)
	if err != nil {
		return err
	}
	return s.closedForm(w, r, site, c.ID, closedValues(c))
}

func closedValues(c logbook.ClosedSpan) *form {
	f := newForm()
	f.set("from", c.From.String())
	f.set("to", c.To.String())
	f.set("reason", c.Reason)
	f.set("revision", fmt.Sprint(c.Revision))
	return f
}

// closedUpdate corrects closed days or takes them back; then the days count as
// school days again, and a check that was not made on them is missing.
func (s *Server) closedUpdate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	c, site, err := s.closedOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	c.Revision = f.revision()
	remove, why := f.raw("remove") != "", readWhy(f)
	if !remove {
		c = readClosed(f, c)
	}
	if len(f.problems) > 0 {
		return s.closedForm(w, r, site, c.ID, f)
	}
	_, err = s.db.UpdateClosedSpan(r.Context(), v.actor, c, remove, why, v.now)
	if isStale(err) {
		now, site, err := s.closedOf(r)
		if err != nil {
			return err
		}
		f.meanwhile(closedValues(now), now.Revision)
		return s.closedForm(w, r, site, now.ID, f)
	}
	if err != nil {
		return err
	}
	return s.saved(w, r, "/sites/"+string(site.ID)+"/duty")
}
