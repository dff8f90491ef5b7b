package req

import (
	"net/http"

	"reddside/internal/logbook"
)

func (s *Kernel) DeliveryOf(r *http.Request) (*logbook.Delivery, *logbook.Season, error) {
	d, err := s.DB.Delivery(r.Context(), URLID(r, "deliveryID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, d.SeasonID, "delivery")
	return &d, season, err
}
