package school

import (
	"fmt"
	"net/http"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

func (s *Service) closedNew(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("key", string(logbook.NewID()))
	return s.closedForm(w, r, site, "", f)
}

const routeClosedCreate = "POST /sites/{id}/closed-days"

// closedForm shows the form of closed days; a correction also asks why.
func (s *Service) closedForm(w http.ResponseWriter, r *http.Request, site logbook.Site, id logbook.ID,
	f *form.Form) error {
	b := form.FormItems(s.Cat, req.Of(r).P, "closed")
	b.Date("from", f.Raw("from"), false)
	b.Date("to", f.Raw("to"), false)
	b.OptionalText("reason", f.Raw("reason"))
	path, verb := ui.SitePath(site.ID), "new"
	action := path + "/closed-days"
	hidden := []ui.Option{{Value: "key", Label: f.Raw("key")}}
	if id != "" {
		verb, action = "correct", path+"/closed-days/"+string(id)+"/correct"
		hidden = []ui.Option{{Value: "revision", Label: f.Raw("revision")}}
		takeBackItems(b, f)
	}
	m := s.FormPage(r, b, verb, "sites", action, path+"/duty")
	m.Intro, m.Hidden = b.P.T("closed.intro"), hidden
	return s.ShowForm(w, r, m, b, f.Problems)
}

func readClosed(f *form.Form, c logbook.ClosedSpan) logbook.ClosedSpan {
	c.From, c.To, c.Reason = f.Date("from"), f.Date("to"), f.Text("reason")
	f.Add(c.Validate())
	return c
}

func (s *Service) closedCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	span := readClosed(f, logbook.ClosedSpan{})
	if len(f.Problems) > 0 {
		return s.closedForm(w, r, site, "", f)
	}
	err = entries.CreateOnce(form.FormKey(f.Text("key")), routeClosedCreate, span,
		func(once store.IdempotencyKey) error {
			_, err := s.DB.CreateClosedSpan(r.Context(), v.Actor, site.ID, span, v.Now, once)
			return err
		})
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID, "/duty"))
}

// closedOf finds the closed days of the address among those of its site.
func (s *Service) closedOf(r *http.Request) (logbook.ClosedSpan, logbook.Site, error) {
	site, err := s.SiteOf(r)
	if err != nil {
		return logbook.ClosedSpan{}, site, err
	}
	spans, err := s.DB.ClosedSpans(r.Context(), site.ID)
	if err != nil {
		return logbook.ClosedSpan{}, site, err
	}
	for _, c := range spans {
		if c.ID == req.URLID(r, "spanID") {
			return c, site, nil
		}
	}
	return logbook.ClosedSpan{}, site, logbook.Missing("closed_span")
}

func (s *Service) closedEdit(w http.ResponseWriter, r *http.Request) error {
	c, site, err := s.closedOf(r)
	if err != nil {
		return err
	}
	return s.closedForm(w, r, site, c.ID, closedValues(c))
}

func closedValues(c logbook.ClosedSpan) *form.Form {
	f := form.NewForm()
	f.Set("from", c.From.String())
	f.Set("to", c.To.String())
	f.Set("reason", c.Reason)
	f.Set("revision", fmt.Sprint(c.Revision))
	return f
}

// closedUpdate corrects closed days or takes them back; then the days count as
// school days again, and a check that was not made on them is missing.
func (s *Service) closedUpdate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	c, site, err := s.closedOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	c.Revision = f.Revision()
	remove, why := f.Raw("remove") != "", form.ReadWhy(f)
	if !remove {
		c = readClosed(f, c)
	}
	if len(f.Problems) > 0 {
		return s.closedForm(w, r, site, c.ID, f)
	}
	_, err = s.DB.UpdateClosedSpan(r.Context(), v.Actor, c, remove, why, v.Now)
	if req.IsStale(err) {
		now, site, err := s.closedOf(r)
		if err != nil {
			return err
		}
		f.EditConflict(closedValues(now), now.Revision)
		return s.closedForm(w, r, site, now.ID, f)
	}
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID, "/duty"))
}
