package school

import (
	"net/http"

	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// deliveryForm fills the form of a delivery with what is stored; thermal units
// are shown in degree-days C.
func deliveryForm(p *i18n.Printer, d *logbook.Delivery, site logbook.Site) *form.Form {
	f := form.Filled(p, logbook.DeliveryFields(), req.UnitOr(site.TemperatureUnit, units.Cel), d, d.Revision)
	if d.ThermalUnits.OK {
		f.Set("thermal_units_in", string(units.Cel))
	}
	return f
}

func (s *Service) deliveryEdit(w http.ResponseWriter, r *http.Request) error {
	d, season, err := s.DeliveryOf(r)
	if err != nil {
		return err
	}
	return s.deliveryEditForm(w, r, *d, season, deliveryForm(s.InSite(req.Of(r), season.Site), d, season.Site),
		d.Revision)
}

func (s *Service) deliveryEditForm(w http.ResponseWriter, r *http.Request, d logbook.Delivery, season *logbook.Season,
	f *form.Form, revision int64) error {
	p := s.InSite(req.Of(r), season.Site)
	b := s.deliveryItems(p, f, season.Site)
	b.Pick("reason", f.Raw("reason"), words.ReasonOptions(p))
	b.OptionalText("reason_text", f.Raw("reason_text"))
	v := s.FormPage(r, b, "correct", "board", ui.DeliveryPath(d.ID, "/correct"), ui.SeasonPath(season.ID))
	v.Hidden = []ui.Option{form.RevisionField(revision)}
	v.Other = ui.Option{Value: ui.DeliveryPath(d.ID, "/void"), Label: p.T("delivery.void_link")}
	return s.ShowForm(w, r, v, b, f.Problems)
}

func (s *Service) deliveryUpdate(w http.ResponseWriter, r *http.Request) error {
	d, season, err := s.DeliveryOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if f.Text("review") != "" {
		return s.deliveryEditForm(w, r, *d, season, f, f.Revision())
	}
	revision, reason := f.Revision(), form.FormReason(f)
	changed := req.ReadDelivery(f, *d, season.Site)
	_, err = s.Entries.Deliveries().Correct(r.Context(), req.Sent(r, season, f), d, &changed, revision, reason)
	if f.Refused(err); len(f.Problems) > 0 {
		return s.deliveryEditForm(w, r, *d, season, f, revision)
	}
	if now := entries.Current[logbook.Delivery](err); now != nil {
		f.EditConflict(deliveryForm(s.InSite(req.Of(r), season.Site), now, season.Site), now.Revision)
		return s.deliveryEditForm(w, r, *now, season, f, now.Revision)
	}
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SeasonPath(season.ID))
}
