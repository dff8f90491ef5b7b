package reports

import (
	"net/http"
	"time"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// beforeShow is what has to be ready in a tank before eggs come, ticked by those
// who did it. The days are counted back from the day of delivery, once it is known.
func (s *Service) beforeShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	t, site, err := s.TankOf(r)
	if err != nil {
		return err
	}
	draft, err := s.DB.Draft(r.Context(), store.DraftDelivery, t.ID)
	if err != nil {
		return err
	}
	ticks, err := s.DB.ReadyTicks(r.Context(), t.ID)
	if err != nil {
		return err
	}
	p := s.InSite(v, site)
	f := form.NewForm()
	f.Set("on", draft.Data["on"])
	on := guidedDay(f, "on", civil.Date{})
	m := BeforePage{Page: s.NewPage(r, "before.title", "board"), Tank: t.Name, Back: t.Name + ", " + site.Name,
		BackHref: ui.SitePath(site.ID),
		Action:   ui.TankPath(t.ID, "/before-eggs"), DayHref: ui.TankPath(t.ID, "/delivery-day")}
	m.P, m.Styles = p, []string{"release.css"}
	m.When = p.T("before.no_day")
	if !on.IsZero() {
		m.When = p.T("before.day", logbook.Args{"On": p.DateWeekday(on)})
	}
	m.Items = beforeItems(p, on, ticks[t.ID], s.Assess.Today(site, v.Now), site.Location())
	m.Count = p.T("before.count", logbook.Args{"Done": len(ticks[t.ID]), "Of": len(m.Items)})
	return s.Render(w, r, http.StatusOK, BeforePageView(m))
}

// beforeItems lists what has to be ready. Without a day of delivery it says how
// many days before it.
func beforeItems(p *i18n.Printer, on civil.Date, ticks map[string]store.Ready, today civil.Date,
	zone *time.Location) []BeforeItem {
	var out []BeforeItem
	for _, r := range care.BeforeEggs(on) {
		x := BeforeItem{ID: r.ID, Text: p.T("before.item." + r.ID), Source: r.Source}
		if on.IsZero() {
			x.By = p.T("before.days", logbook.Args{"Count": r.Days})
		} else {
			x.By = p.T("before.by", logbook.Args{"On": p.DateWeekday(r.By)})
		}
		if t, ok := ticks[r.ID]; ok {
			x.Done = p.T("before.done", logbook.Args{"On": p.DayMonth(civil.In(t.At, zone)), "Who": t.By})
		} else {
			x.Late = !on.IsZero() && r.By.Before(today)
		}
		out = append(out, x)
	}
	return out
}

// beforeSave stores the ticks as the page shows them.
func (s *Service) beforeSave(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	t, _, err := s.TankOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	// Only what the page offered is set, so that a newer list is not unticked by an old page.
	done := map[string]bool{}
	for _, id := range f.Values["offered"] {
		done[id] = false
	}
	for _, id := range f.Values["done"] {
		done[id] = true
	}
	if err := s.Entries.SetReady(r.Context(), v.Actor, t.ID, done, v.Now); err != nil {
		return err
	}
	return s.Saved(w, r, ui.TankPath(t.ID, "/before-eggs"))
}
