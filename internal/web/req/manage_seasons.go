package req

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// ProgrammeToday is the date by which a lot is judged: lots belong to no site,
// so the latest date anywhere on earth counts.
func (v *Info) ProgrammeToday() civil.Date { return civil.In(v.Now.UTC(), lastZone) }

func (s *Kernel) LotOf(r *http.Request) (logbook.Lot, error) {
	return s.DB.Lot(r.Context(), logbook.ID(chi.URLParam(r, "lotID")))
}

// LotOptions are the lots that who asks may put in a tank.
func (s *Kernel) LotOptions(r *http.Request) ([]ui.Option, []logbook.Lot, error) {
	p := Of(r).P
	lots, err := s.DB.LotsFor(r.Context(), Of(r).Actor)
	if err != nil {
		return nil, nil, err
	}
	var out []ui.Option
	for _, l := range lots {
		out = append(out, ui.Option{Value: string(l.ID), Label: l.Code + " – " + p.T(l.Species.MessageKey())})
	}
	return out, lots, nil
}
