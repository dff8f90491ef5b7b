package api

import (
	"errors"
	"net/http"
	"slices"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// newEntry is what the creates of events and deliveries share: the season, the
// body and the key.
type newEntry struct {
	body *form.Object
	entries.Sent
}

func (s *Service) readNewEntry(r *http.Request) (n newEntry, err error) {
	if err = form.NoQuery(r); err != nil {
		return n, err
	}
	season, err := s.SeasonOf(r)
	if err != nil {
		return n, err
	}
	if n.body, err = form.ReadObject(r); err != nil {
		return n, err
	}
	n.Sent = sent(r, season)
	n.Key, err = keyOf(r)
	return n, err
}

// sent is an entry that a program sends to a season.
func sent(r *http.Request, season *logbook.Season) entries.Sent {
	v := req.Of(r)
	return entries.Sent{Actor: v.Actor, Season: season, Now: v.Now}
}

// confirming tells which surprising values a program says are right; names are the
// JSON names of fields that differ from those of the domain.
func confirming(words []string, names map[string]string) func(field string) bool {
	return func(field string) bool {
		return slices.Contains(words, field) || names[field] != "" && slices.Contains(words, names[field])
	}
}

// end ends the reading of the body.
func (n *newEntry) end() error {
	n.body.End()
	return logbook.Refuse(*n.body.Problems)
}

// keyedEntry is a new row that entries does not judge, with its key.
type keyedEntry struct {
	newEntry
	once     store.IdempotencyKey
	answered bool
}

func (s *Service) readKeyedEntry(r *http.Request) (n keyedEntry, err error) {
	if n.newEntry, err = s.readNewEntry(r); err == nil {
		n.once, n.answered, err = s.once(r, n.body.Fields)
	}
	return n, err
}

// refuse ends the reading of the body; judge is not asked about an entry that
// was answered before.
func (n *keyedEntry) refuse(judge func() []logbook.Problem) error {
	if err := n.end(); err != nil || n.answered {
		return err
	}
	return logbook.Refuse(judge())
}

// renamed gives the problems of a refused entry the names of JSON.
func renamed(err error, names map[string]string) error {
	var e *logbook.Error
	if errors.As(err, &e) {
		form.Renamed(e.Problems, names)
	}
	return err
}

func (s *Service) eventOf(r *http.Request) (*logbook.Event, *logbook.Season, error) {
	e, err := s.DB.Event(r.Context(), req.URLID(r, "eventID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, e.SeasonID, "event")
	return &e, season, err
}
