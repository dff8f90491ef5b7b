package care

import (
	"net/http"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// failurePick leads from the board to the failure page of a tank: at once when
// there is one only, else by a list of large links.
func (s *Service) failurePick(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	heads, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{SiteID: v.Actor.SiteID, OpenOnly: true})
	if err != nil {
		return err
	}
	if len(heads) == 1 {
		http.Redirect(w, r, ui.SeasonPath(heads[0].ID, careFailure), http.StatusSeeOther)
		return nil
	}
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	schools := map[logbook.ID]string{}
	names := map[logbook.ID]string{}
	for _, site := range sites {
		schools[site.ID] = site.Name
		if !v.Actor.MaySee(site.ID) {
			continue
		}
		tanks, err := s.DB.Tanks(r.Context(), site.ID)
		if err != nil {
			return err
		}
		for _, t := range tanks {
			names[t.ID] = t.Name
		}
	}
	page := s.NewPage(r, "care.failure", "board")
	page.Styles = []string{"care.css"}
	part := ui.CarePart{ID: "tanks", Title: page.T("care.which_tank"), Tiles: true,
		Lines: []string{page.T("care.pick_first")}}
	for _, h := range heads {
		if v.Actor.MaySee(h.SiteID) {
			part.Links = append(part.Links, ui.CareLink{Href: ui.SeasonPath(h.ID, careFailure), Label: names[h.TankID] +
				", " + schools[h.SiteID]})
		}
	}
	if len(part.Links) == 0 {
		part.Lines = []string{page.T("care.no_tank")}
	}
	return s.Render(w, r, http.StatusOK, ui.CarePageView(ui.CarePage{Page: page, Parts: []ui.CarePart{part}}))
}
