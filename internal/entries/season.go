package entries

import (
	"context"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// StartSeason judges and stores in.Season, which begins, with its first delivery
// where there is one. Both are stored or neither; the same key again gives the same
// season.
func (s *Service) StartSeason(ctx context.Context, in Sent, first *logbook.Delivery) (out *logbook.Season, err error) {
	v := in.Season
	once, answered, err := s.once(ctx, &in, "season", struct {
		Tank, Lot logbook.ID
		Label     string
		From, By  civil.Date
		First     *logbook.Delivery
	}{v.Tank.ID, v.Lot.ID, v.Label, v.ReleaseFrom, v.ReleaseBy, first})
	if err != nil {
		return nil, err
	}
	problems := in.Unread
	if today := s.Assess.Today(v.Site, in.Now); !answered {
		if first != nil {
			problems = append(problems, first.Validate(v.Lot, today)...)
		}
		problems = append(problems, v.ValidateDetails(today)...)
	}
	if err := logbook.Refuse(problems); err != nil {
		return nil, err
	}
	if first != nil {
		out, err = s.db.StartSeason(ctx, in.Actor, *v, *first, in.Now, once)
	} else {
		out, err = s.db.CreateSeason(ctx, in.Actor, *v, in.Now, once)
	}
	if err != nil {
		return nil, err
	}
	return out, s.Assess.SyncFlags(ctx, in.Actor, out.ID, in.Now)
}
