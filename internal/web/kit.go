package web

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/view"
)

// kitRoutes tell what a school's ammonia kit counts: asked once for each kit.
func (s *Server) kitRoutes(r chi.Router) {
	r.Get("/sites/{siteID}/kit", s.page(s.kitShow))
	r.Post("/sites/{siteID}/kit", s.page(s.kitSave))
}

// kitIons is the mass of what a kit counts per mass of its nitrogen.
var kitIons = map[logbook.KitBasis]water.Ion{logbook.KitAsN: 1, logbook.KitAsNH3: water.NH3, logbook.KitAsNH4: water.NH4}

// kitAsN turns a figure of a kit into total ammonia as N. A kit of which nobody
// told is taken to count nitrogen, which judges the water more strictly.
func kitAsN(v units.MgPerL, basis logbook.KitBasis) units.MgPerL {
	if ion, ok := kitIons[basis]; ok {
		return ion.AsN(v)
	}
	return v
}

// kitFigure is the figure that a kit shows for total ammonia as N, without the
// noise of the conversion.
func kitFigure(n units.MgPerL, basis logbook.KitBasis) units.MgPerL {
	if ion, ok := kitIons[basis]; ok {
		return units.MgPerL(units.Round(float64(ion.FromN(n)), 6))
	}
	return n
}

// kitScale is the colour scale of a kit, as N.
func kitScale(k logbook.Kit) water.KitScale {
	var scale water.KitScale
	if step, ok := k.Step.Get(); ok {
		for i := range 41 {
			scale = append(scale, kitAsN(step*units.MgPerL(i), k.Basis))
		}
		return scale
	}
	for _, v := range water.AmmoniaKit() {
		scale = append(scale, kitAsN(v, k.Basis))
	}
	return scale
}

// kitAround is the reading give or take half a step of the kit. A figure above
// the last colour can be any amount more.
func kitAround(k logbook.Kit, v units.MgPerL) water.KitReading {
	scale := kitScale(k)
	reading, err := scale.Around(v)
	if err != nil {
		return water.KitReading{Low: scale[len(scale)-1], High: v, Beyond: true}
	}
	return reading
}

// readTAN turns the ammonia that was typed in a check form into nitrogen: in what
// the form asked for, else in what the kit of the school counts.
func (s *Server) readTAN(r *http.Request, f *form, c *logbook.Check, season *logbook.Season) error {
	if !c.TAN.OK {
		return nil
	}
	basis := logbook.KitBasis(f.text("tan_basis"))
	if !basis.Valid() {
		k, err := s.db.Kit(r.Context(), season.Site.ID)
		if err != nil {
			return err
		}
		basis = k.Basis
	}
	c.TAN.V = kitAsN(c.TAN.V, basis)
	return nil
}

// kitInForm tells the check form what its ammonia field counts.
func (s *Server) kitInForm(r *http.Request, m *view.CheckForm, season *logbook.Season) error {
	k, err := s.db.Kit(r.Context(), season.Site.ID)
	if err != nil {
		return err
	}
	m.TANHint = m.T("kit.hint_unknown")
	if k.Known() {
		m.TANLabel = m.T("kit.field", logbook.Args{"As": m.T("kit.short." + string(k.Basis))})
		m.TANHint = m.T("kit.hint", logbook.Args{"Kit": k.Name})
		m.Hidden = append(m.Hidden, view.Option{Value: "tan_basis", Label: string(k.Basis)})
	}
	return nil
}

func (s *Server) kitShow(w http.ResponseWriter, r *http.Request) error {
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	k, err := s.db.Kit(r.Context(), site.ID)
	if err != nil {
		return err
	}
	f := newForm()
	f.set("name", k.Name)
	f.set("basis", string(k.Basis))
	f.set("step_mg_l", typedOpt(visitOf(r).p, k.Step))
	f.set("revision", strconv.FormatInt(k.Revision, 10))
	return s.renderKit(w, r, http.StatusOK, site, k, f)
}

func (s *Server) renderKit(w http.ResponseWriter, r *http.Request, status int, site logbook.Site, k logbook.Kit, f *form) error {
	page := s.newPage(r, "kit.title", "sites")
	page.Styles = []string{"care.css"}
	p := page.P
	m := view.CarePage{Page: page, Place: site.Name, Links: []view.CareLink{{Href: "/sites/" + string(site.ID), Label: site.Name}}}
	m.Problems = showProblems(p, f.problems, func(field string) string { return p.T("kit.in." + field) })
	m.Error = len(m.Problems) > 0
	b := formItems(s.cat, p, "kit.in")
	b.text("name", f.raw("name"))
	b.pick("basis", f.raw("basis"), keyedOptions(p, logbook.KitBases()))
	b.number("step_mg_l", f.raw("step_mg_l"), "decimal", true)
	if k.Known() {
		b.text("reason", f.raw("reason"))
	}
	part := view.CarePart{ID: "kit", Title: p.T("kit.ask"), Lines: []string{p.T("kit.text")}, Cautions: []string{p.T("care_water.hands")},
		Form: &view.CareForm{Method: "post", Action: "/sites/" + string(site.ID) + "/kit", Submit: p.T("kit.submit"),
			Hidden: []view.Option{{Value: "revision", Label: f.text("revision")}}, Items: b.list, Problems: m.Problems}}
	if k.Known() {
		part.Sources = []string{p.T("kit.told", logbook.Args{"By": byRole(p, logbook.Entry{By: k.ChangedBy, ByLabel: k.ChangedLabel}), "At": p.When(k.ChangedAt, site.Location())})}
	}
	m.Parts = []view.CarePart{part}
	return s.render(w, r, status, view.CarePageView(m))
}

// kitSave stores the kit; values that were typed with the kit before keep what
// they said, as they are kept as nitrogen.
func (s *Server) kitSave(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	have, err := s.db.Kit(r.Context(), site.ID)
	if err != nil {
		return err
	}
	k := logbook.Kit{SiteID: site.ID, Name: f.text("name"), Basis: logbook.KitBasis(f.text("basis")), Step: optional[units.MgPerL](f, "step_mg_l")}
	f.add(k.Validate())
	if k.Revision = f.revision(); have.Known() && f.text("reason") == "" {
		f.fail("reason", "error.reason", nil)
	}
	if len(f.problems) == 0 {
		_, err = s.db.SetKit(r.Context(), v.actor, k, f.text("reason"), v.now)
		if err == nil {
			s.setNotice(r, v.p.T("kit.saved"))
			http.Redirect(w, r, "/sites/"+string(site.ID)+"/kit", http.StatusSeeOther)
			return nil
		}
		if logbook.KindOf(err) != logbook.Conflict {
			return err
		}
		f.fail("name", "error.stale", nil)
		f.set("revision", strconv.FormatInt(have.Revision, 10))
	}
	return s.renderKit(w, r, http.StatusUnprocessableEntity, site, have, f)
}
