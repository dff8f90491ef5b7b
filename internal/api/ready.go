package api

import (
	"net/http"
	"time"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// readyOut is one thing to have ready before eggs come, and whether it is.
type readyOut struct {
	ID         string                       `json:"id"`
	DaysBefore int                          `json:"days_before"`
	Done       bool                         `json:"done"`
	DoneAt     units.Optional[time.Time]    `json:"done_at"`
	By         units.Optional[logbook.Role] `json:"by"`
	ByLabel    string                       `json:"by_label"`
}

// apiReady lists what has to be ready in a tank.
func (s *Service) apiReady(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	t, _, err := s.TankOf(r)
	if err != nil {
		return err
	}
	return s.writeReady(w, r, t.ID)
}

func (s *Service) writeReady(w http.ResponseWriter, r *http.Request, tank logbook.ID) error {
	ticks, err := s.DB.ReadyTicks(r.Context(), tank)
	if err != nil {
		return err
	}
	out := list[readyOut]{Items: []readyOut{}}
	for _, x := range care.BeforeEggs(civil.Date{}) {
		row := readyOut{ID: x.ID, DaysBefore: x.Days}
		if k, ok := ticks[tank][x.ID]; ok {
			row.Done, row.DoneAt, row.By, row.ByLabel = true, units.Some(k.At.UTC()), units.Some(k.Role), k.By
		}
		out.Items = append(out.Items, row)
	}
	return req.WriteJSON(w, http.StatusOK, out)
}

// apiReadyPatch ticks things, or takes their ticks off, through the code of the page.
func (s *Service) apiReadyPatch(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	t, _, err := s.TankOf(r)
	if err != nil {
		return err
	}
	o, err := form.ReadObject(r)
	if err != nil {
		return err
	}
	done := map[string]bool{}
	for _, id := range o.Words("not_done") {
		done[id] = false
	}
	for _, id := range o.Words("done") {
		done[id] = true
	}
	o.End()
	if err := logbook.Refuse(*o.Problems); err != nil {
		return err
	}
	if err := s.Entries.SetReady(r.Context(), v.Actor, t.ID, done, v.Now); err != nil {
		return err
	}
	return s.writeReady(w, r, t.ID)
}
