package care

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// kitRoutes tell what a school's ammonia kit counts: asked once for each kit.
func (s *Service) kitRoutes(r chi.Router) {
	r.Get("/sites/{siteID}/kit", s.Page(s.kitShow))
	r.Post("/sites/{siteID}/kit", s.Page(s.kitSave))
}

// kitScale is the colour scale of a kit, as N.
func kitScale(k logbook.Kit) water.KitScale {
	var scale water.KitScale
	if step, ok := k.Step.Get(); ok {
		for i := range 41 {
			scale = append(scale, words.KitAsN(step*units.MgPerL(i), k.Basis))
		}
		return scale
	}
	for _, v := range water.AmmoniaKit() {
		scale = append(scale, words.KitAsN(v, k.Basis))
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

func (s *Service) kitShow(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	k, err := s.DB.Kit(r.Context(), site.ID)
	if err != nil {
		return err
	}
	return s.renderKit(w, r, http.StatusOK, site, k, kitForm(req.Of(r).P, k))
}

func kitForm(p *i18n.Printer, k logbook.Kit) *form.Form {
	f := form.NewForm()
	f.Set("name", k.Name)
	f.Set("basis", string(k.Basis))
	f.Set("step_mg_l", "")
	if k.Step.OK {
		f.Set("step_mg_l", words.Typed(p, float64(k.Step.V)))
	}
	f.Set("revision", strconv.FormatInt(k.Revision, 10))
	return f
}

func (s *Service) renderKit(w http.ResponseWriter, r *http.Request, status int, site logbook.Site, k logbook.Kit,
	f *form.Form) error {
	page := s.NewPage(r, "kit.title", "sites")
	page.Styles = []string{"care.css"}
	p := page.P
	m := ui.CarePage{Page: page, Place: site.Name, Links: []ui.CareLink{{Href: ui.SitePath(site.ID), Label: site.Name}}}
	b := form.FormItems(s.Cat, p, "kit.in")
	b.Text("name", f.Raw("name"))
	b.Pick("basis", f.Raw("basis"), words.KeyedOptions(p, logbook.KitBases()))
	b.Number("step_mg_l", f.Raw("step_mg_l"), "decimal", true)
	if k.Known() {
		b.Text("reason", f.Raw("reason"))
	}
	m.Problems = b.Problems(f.Problems)
	m.Error = len(m.Problems) > 0
	part := ui.CarePart{ID: "kit", Title: p.T("kit.ask"), Lines: []string{p.T("kit.text")},
		Cautions: []string{p.T("care_water.hands")},
		Form: &ui.CareForm{Method: "post", Action: ui.SitePath(site.ID, "/kit"), Submit: p.T("kit.submit"),
			Hidden: []ui.Option{{Value: "revision", Label: f.Text("revision")}}, Items: b.List, Problems: m.Problems}}
	if k.Known() {
		part.Sources = []string{p.T("kit.told",
			logbook.Args{"By": words.ByRole(p, logbook.Entry{By: k.ChangedBy, ByLabel: k.ChangedLabel}),
				"At": p.When(k.ChangedAt, site.Location())})}
	}
	m.Parts = []ui.CarePart{part}
	return s.Render(w, r, status, ui.CarePageView(m))
}

// kitSave stores the kit; values that were typed with the kit before keep what
// they said, as they are kept as nitrogen.
func (s *Service) kitSave(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	have, err := s.DB.Kit(r.Context(), site.ID)
	if err != nil {
		return err
	}
	k := logbook.Kit{SiteID: site.ID, Name: f.Text("name"), Basis: logbook.KitBasis(f.Text("basis")),
		Step: form.Optional[units.MgPerL](f, "step_mg_l")}
	f.Add(k.Validate())
	if k.Revision = f.Revision(); have.Known() && f.Text("reason") == "" {
		f.Fail("reason", "error.reason", nil)
	}
	if len(f.Problems) == 0 {
		_, err = s.DB.SetKit(r.Context(), v.Actor, k, f.Text("reason"), v.Now)
		if err == nil {
			s.SetNotice(r, v.P.T("kit.saved"))
			http.Redirect(w, r, ui.SitePath(site.ID, "/kit"), http.StatusSeeOther)
			return nil
		}
		if logbook.KindOf(err) != logbook.Conflict {
			return err
		}
		f.EditConflict(kitForm(req.Of(r).P, have), have.Revision)
	}
	return s.renderKit(w, r, req.StatusWith(f.Problems), site, have, f)
}
