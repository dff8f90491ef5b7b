package req

import (
	"context"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// ReportPhotos are the photographs of a season for its report.
func (s *Kernel) ReportPhotos(ctx context.Context, p *i18n.Printer, season logbook.ID) ([]ui.Photo, error) {
	list, err := s.DB.Photos(ctx, season)
	return words.PhotoViews(p, list), err
}
