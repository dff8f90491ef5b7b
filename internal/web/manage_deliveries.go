package web

import (
	"net/http"
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// deliveryForm fills the form of a delivery with what is stored; thermal units
// are shown in degree-days C.
func deliveryForm(d logbook.Delivery, site logbook.Site) *form {
	f := newForm()
	unit := unitOr(site.TemperatureUnit, units.Cel)
	f.set("on", d.On.String())
	f.set("count", strconv.Itoa(d.Count))
	f.set("method", string(d.Method))
	f.set("stage", string(d.Stage))
	f.setNumber("thermal_units", units.Round(float64(d.ThermalUnits.V), 2), d.ThermalUnits.OK)
	if d.ThermalUnits.OK {
		f.set("thermal_units_in", string(units.Cel))
	}
	f.setNumber("mean_temperature", units.Round(unit.FromCelsius(d.MeanTemperature.V), 2), d.MeanTemperature.OK)
	f.setNumber("development_index", d.Index.V, d.Index.OK)
	f.setNumber("pack_temperature", units.Round(unit.FromCelsius(d.PackTemperature.V), 2), d.PackTemperature.OK)
	f.set("note", d.Note)
	return f
}

func (s *Server) deliveryEdit(w http.ResponseWriter, r *http.Request) error {
	d, season, err := s.deliveryOf(r)
	if err != nil {
		return err
	}
	return s.deliveryEditForm(w, r, *d, season, deliveryForm(*d, season.Site), d.Revision)
}

func (s *Server) deliveryEditForm(w http.ResponseWriter, r *http.Request, d logbook.Delivery, season *logbook.Season, f *form, revision int64) error {
	p := s.inSite(visitOf(r), season.Site)
	b := s.deliveryItems(p, f, season.Site)
	b.pick("reason", f.raw("reason"), reasonOptions(p))
	b.optionalText("reason_text", f.raw("reason_text"))
	v := s.formPage(r, b, "correct", "board", "/deliveries/"+string(d.ID)+"/correct", "/seasons/"+string(season.ID))
	v.Hidden = []view.Option{revisionField(revision)}
	return s.showForm(w, r, v, b, f.problems)
}

func (s *Server) deliveryUpdate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	d, season, err := s.deliveryOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if f.text("review") != "" {
		return s.deliveryEditForm(w, r, *d, season, f, f.revision())
	}
	revision, reason := f.revision(), formReason(f)
	changed := readDelivery(f, *d, season.Lot, season.Site, s.today(season.Site, v.now))
	f.add(season.ValidateDelivery(changed))
	if len(f.problems) > 0 {
		return s.deliveryEditForm(w, r, *d, season, f, revision)
	}
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	_, err = s.db.CorrectDelivery(r.Context(), v.actor, d.ID, revision, changed, reason, v.now, after)
	if now := current[logbook.Delivery](err); now != nil {
		f.meanwhile(deliveryForm(*now, season.Site), now.Revision)
		return s.deliveryEditForm(w, r, *now, season, f, now.Revision)
	}
	if err != nil {
		return err
	}
	return s.saved(w, r, "/seasons/"+string(season.ID))
}
