package req

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// SiteOf loads the site of the address for an actor who may see it.
func (s *Kernel) SiteOf(r *http.Request) (logbook.Site, error) {
	id := logbook.ID(chi.URLParam(r, "siteID"))
	if !Of(r).Actor.MaySee(id) {
		return logbook.Site{}, logbook.Missing("site")
	}
	return s.DB.Site(r.Context(), id)
}

// TankOf loads the tank of the address and its site.
func (s *Kernel) TankOf(r *http.Request) (logbook.Tank, logbook.Site, error) {
	t, err := s.DB.Tank(r.Context(), logbook.ID(chi.URLParam(r, "tankID")))
	if err != nil {
		return t, logbook.Site{}, err
	}
	if !Of(r).Actor.MaySee(t.SiteID) {
		return t, logbook.Site{}, logbook.Missing("tank")
	}
	site, err := s.DB.Site(r.Context(), t.SiteID)
	return t, site, err
}

// SeasonOf loads the season of the address for an actor who may see it.
func (s *Kernel) SeasonOf(r *http.Request) (*logbook.Season, error) {
	season, err := s.DB.LoadSeason(r.Context(), logbook.ID(chi.URLParam(r, "seasonID")))
	if err != nil {
		return nil, err
	}
	if !Of(r).Actor.MaySee(season.Site.ID) {
		return nil, logbook.Missing("season")
	}
	return season, nil
}

// SeasonByID loads a season for an actor who may see it; what names the row
// that is missing otherwise.
func (s *Kernel) SeasonByID(r *http.Request, id logbook.ID, what string) (*logbook.Season, error) {
	season, err := s.DB.LoadSeason(r.Context(), id)
	if err != nil {
		return nil, err
	}
	if !Of(r).Actor.MaySee(season.Site.ID) {
		return nil, logbook.Missing(what)
	}
	return season, nil
}

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

func (s *Kernel) DeliveryOf(r *http.Request) (*logbook.Delivery, *logbook.Season, error) {
	d, err := s.DB.Delivery(r.Context(), URLID(r, "deliveryID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, d.SeasonID, "delivery")
	return &d, season, err
}

// StoredSample loads the sample of the address with its season, for an actor who
// may see it.
func (s *Kernel) StoredSample(r *http.Request) (*logbook.Sample, *logbook.Season, error) {
	m, err := s.DB.Sample(r.Context(), URLID(r, "sampleID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, m.SeasonID, "sample")
	return &m, season, err
}

// ReleaseOfRequest loads the record of the address and its season.
func (s *Kernel) ReleaseOfRequest(r *http.Request) (*logbook.ReleaseRecord, *logbook.Season, error) {
	rec, err := s.DB.Release(r.Context(), logbook.ID(chi.URLParam(r, "releaseID")))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, rec.SeasonID, "release_record")
	return &rec, season, err
}

// ReportPhotos are the newest photographs of a season, for its report.
func (s *Kernel) ReportPhotos(ctx context.Context, p *i18n.Printer, season logbook.ID) ([]ui.Photo, error) {
	list, err := s.DB.Photos(ctx, season)
	list = list[max(0, len(list)-logbook.ReportPhotos):]
	return words.PhotoViews(p, list), err
}
