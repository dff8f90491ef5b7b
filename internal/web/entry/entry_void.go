package entry

import (
	"context"
	"net/http"
	"strconv"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// voiding is how one kind of entry is taken back on its page: the same steps for
// all of them. The entry stays readable.
type voiding[T any] struct {
	title string // key, with {{.Tank}}
	// of loads the entry of the address for somebody who may still change it.
	of    func(*http.Request) (*T, *logbook.Season, error)
	entry func(*T) (logbook.ID, *logbook.Entry)
	path  string                           // of its addresses, before the id
	home  func(*logbook.Season, *T) string // where its entry is shown; nil for path and id
	lines func(ui.Page, *T) []ui.EntryLine
	void  func(context.Context, entries.Sent, *T, int64, string) (store.Saved[T], error)
}

// ask shows what would be taken back, and asks why.
func (k voiding[T]) ask(s *Service) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		have, season, err := k.of(r)
		if err != nil {
			return err
		}
		f := form.NewForm()
		k.setRevision(f, have)
		return k.render(s, w, r, http.StatusOK, have, season, f)
	}
}

// store takes the entry back. When somebody changed it meanwhile, it shows what
// it says now, and asks again.
func (k voiding[T]) store(s *Service) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		v := req.Of(r)
		have, season, err := k.of(r)
		if err != nil {
			return err
		}
		f, err := form.ReadForm(r)
		if err != nil {
			return err
		}
		from, reason := f.Revision(), form.FormReason(f)
		if len(f.Problems) > 0 {
			return k.render(s, w, r, http.StatusUnprocessableEntity, have, season, f)
		}
		if _, err = k.void(r.Context(), req.Sent(r, season, f), have, from, reason); err != nil {
			cur := entries.Current[T](err)
			if cur == nil {
				return err
			}
			f.Fail("revision", "error.stale", nil)
			k.setRevision(f, cur)
			return k.render(s, w, r, http.StatusConflict, cur, season, f)
		}
		s.SetNotice(r, v.P.T("check_page.voided"))
		http.Redirect(w, r, k.shown(season, have), http.StatusSeeOther)
		return nil
	}
}

func (k voiding[T]) shown(season *logbook.Season, row *T) string {
	if k.home != nil {
		return k.home(season, row)
	}
	id, _ := k.entry(row)
	return k.path + string(id)
}

func (k voiding[T]) setRevision(f *form.Form, row *T) {
	_, e := k.entry(row)
	f.Set("revision", strconv.FormatInt(e.Revision, 10))
}

func (k voiding[T]) render(s *Service, w http.ResponseWriter, r *http.Request, status int, row *T,
	season *logbook.Season, f *form.Form) error {
	id, _ := k.entry(row)
	m := EntryVoid{Page: s.EntryPage(r, k.title, season), Action: k.path + string(id) + "/void",
		Cancel: k.shown(season, row),
		Tank:   season.Tank.Name, Site: season.Site.Name, TankHref: ui.SeasonPath(season.ID)}
	m.Intro = m.T("check_page.void_intro")
	m.Lines = k.lines(m.Page, row)
	m.Reasons = words.ReasonOptions(m.P)
	m.Revision = f.Text("revision")
	m.Values = map[string]string{"reason": f.Raw("reason"), "reason_text": f.Raw("reason_text")}
	m.Problems = form.ShowProblems(m.P, f.Problems, func(field string) string { return m.T("entry." + field) })
	m.Error = len(f.Problems) > 0
	return s.Render(w, r, status, EntryVoidPage(m))
}

func (s *Service) checkVoiding() voiding[logbook.Check] {
	return voiding[logbook.Check]{title: "check_page.void_title", of: s.correctable, path: "/checks/",
		void:  s.Entries.Checks().Void,
		entry: func(c *logbook.Check) (logbook.ID, *logbook.Entry) { return c.ID, &c.Entry },
		lines: func(m ui.Page, c *logbook.Check) []ui.EntryLine {
			var out []ui.EntryLine
			for _, field := range words.CheckFields {
				if text := words.CheckText(m.P, c, field); text != "" {
					out = append(out, ui.EntryLine{Label: ui.CheckFieldLabel(m, field, m.P.UnitSymbol()), Value: text})
				}
			}
			return out
		}}
}

func (s *Service) eventVoiding() voiding[logbook.Event] {
	return voiding[logbook.Event]{title: "event_page.void_title", of: s.changeable, path: "/events/",
		void:  s.Entries.Events().Void,
		entry: func(e *logbook.Event) (logbook.ID, *logbook.Entry) { return e.ID, &e.Entry },
		lines: func(m ui.Page, e *logbook.Event) []ui.EntryLine { return eventLines(m.P, e) }}
}

func (s *Service) sampleVoiding() voiding[logbook.Sample] {
	return voiding[logbook.Sample]{title: "sample.void_title", of: s.changeableSample, path: "/samples/",
		void:  s.Entries.Samples().Void,
		entry: func(x *logbook.Sample) (logbook.ID, *logbook.Entry) { return x.ID, &x.Entry },
		lines: func(m ui.Page, x *logbook.Sample) []ui.EntryLine { return sampleLines(m.P, x) }}
}

// deliveryVoiding leads back to the tank: a delivery has no page of its own.
func (s *Service) deliveryVoiding() voiding[logbook.Delivery] {
	return voiding[logbook.Delivery]{title: "delivery.void_title", path: "/deliveries/",
		void: s.Entries.Deliveries().Void,
		of: func(r *http.Request) (*logbook.Delivery, *logbook.Season, error) {
			d, season, err := s.DeliveryOf(r)
			if err == nil && d.Voided {
				err = logbook.Errorf(logbook.Conflict, "error.voided", nil)
			}
			return d, season, err
		},
		home:  func(season *logbook.Season, _ *logbook.Delivery) string { return ui.SeasonPath(season.ID) },
		entry: func(d *logbook.Delivery) (logbook.ID, *logbook.Entry) { return d.ID, &d.Entry },
		lines: func(m ui.Page, d *logbook.Delivery) []ui.EntryLine {
			out := []ui.EntryLine{{Label: m.T("delivery.on"), Value: m.P.DateWeekday(d.On)},
				{Label: m.T("delivery.count"), Value: m.P.Count(d.Count)}}
			for _, line := range []ui.EntryLine{{Label: m.T("delivery.stage"), Value: words.Word(m.P, d.Stage)},
				{Label: m.T("delivery.note"), Value: d.Note}} {
				if line.Value != "" {
					out = append(out, line)
				}
			}
			return out
		}}
}
