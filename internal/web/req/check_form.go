package req

import (
	"net/http"

	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// EntryPage starts a page about a tank, in the unit of its site.
func (s *Kernel) EntryPage(r *http.Request, titleKey string, season *logbook.Season) ui.Page {
	v := Of(r)
	p := s.NewPage(r, titleKey, "board")
	p.P = s.InSite(v, season.Site)
	p.Title = p.T(titleKey, logbook.Args{"Tank": season.Tank.Name})
	p.Styles = ui.CheckStyles
	return p
}
