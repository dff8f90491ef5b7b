package api

import (
	"context"
	"net/http"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// rowKind is how one kind of entry is shown, corrected and taken back through the
// JSON interface: the same steps for all of them.
type rowKind[T any] struct {
	// of loads the row of the address with its season, for an actor who may see it.
	of     func(*http.Request) (*T, *logbook.Season, error)
	entry  func(*T) *logbook.Entry
	json   func(*T) any
	answer func(*http.Request, store.Saved[T], *logbook.Season) any
	edits  []string                 // fields that a PATCH can change
	edited func(e *edit, have *T) T // the row as it is to be
	names  map[string]string        // of JSON, where they differ from those of the domain
	// correct and void are those of entries.
	correct func(context.Context, entries.Sent, *T, *T, int64, string) (store.Saved[T], error)
	void    func(context.Context, entries.Sent, *T, int64, string) (store.Saved[T], error)
}

func (k rowKind[T]) show(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	row, _, err := k.of(r)
	if err != nil {
		return err
	}
	setETag(w, k.entry(row).Revision)
	return req.WriteJSON(w, http.StatusOK, k.json(row))
}

// patch corrects a row with a reason.
func (k rowKind[T]) patch(s *Service) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		have, season, err := k.matching(r)
		if err != nil {
			return err
		}
		e, err := readEdit(r, k.json(have), k.edits)
		if err != nil {
			return err
		}
		row := k.edited(e, have)
		if err := logbook.Refuse(*e.Problems); err != nil {
			return err
		}
		in := sent(r, season)
		in.Confirmed = confirming(e.confirm, k.names)
		saved, err := k.correct(r.Context(), in, have, &row, k.entry(have).Revision, e.reason)
		return k.answered(w, r, season, saved, renamed(err, k.names))
	}
}

// takeBack voids a row with a reason; it stays readable.
func (k rowKind[T]) takeBack(s *Service) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		have, season, err := k.matching(r)
		if err != nil {
			return err
		}
		reason, err := readReason(r)
		if err != nil {
			return err
		}
		saved, err := k.void(r.Context(), sent(r, season), have, k.entry(have).Revision, reason)
		return k.answered(w, r, season, saved, err)
	}
}

// matching loads the row that a change starts from, of the revision that the
// request names.
func (k rowKind[T]) matching(r *http.Request) (*T, *logbook.Season, error) {
	have, season, err := k.of(r)
	if err != nil {
		return nil, nil, err
	}
	return have, season, ifMatchRow(r, k.entry(have).Revision, *have)
}

// answered answers a change.
func (k rowKind[T]) answered(w http.ResponseWriter, r *http.Request, season *logbook.Season, saved store.Saved[T], err error) error {
	if err != nil {
		return err
	}
	setETag(w, k.entry(&saved.Row).Revision)
	return req.WriteJSON(w, http.StatusOK, k.answer(r, saved, season))
}

func (s *Service) checkRows() rowKind[logbook.Check] {
	return rowKind[logbook.Check]{
		of: s.checkOf, edits: checkEdits, correct: s.Entries.CorrectCheck, void: s.Entries.VoidCheck, names: checkNames,
		entry: func(c *logbook.Check) *logbook.Entry { return &c.Entry },
		json:  func(c *logbook.Check) any { return checkJSON(c) },
		answer: func(r *http.Request, saved store.Saved[logbook.Check], season *logbook.Season) any {
			return checkAnswerJSON(r, saved, season.Site)
		},
		edited: func(e *edit, have *logbook.Check) logbook.Check {
			c := readCheckJSON(e.Object)
			c.ID, c.SeasonID = have.ID, have.SeasonID
			if !e.changed("temperature") { // the entered text and every decimal stay
				c.Temperature, c.TemperatureEntered, c.TemperatureUnit = have.Temperature, have.TemperatureEntered, have.TemperatureUnit
			}
			return c
		},
	}
}

func (s *Service) eventRows() rowKind[logbook.Event] {
	return rowKind[logbook.Event]{
		of: s.eventOf, edits: eventEdits, correct: s.Entries.CorrectEvent, void: s.Entries.VoidEvent, names: eventNames,
		entry: func(e *logbook.Event) *logbook.Entry { return &e.Entry },
		json:  func(e *logbook.Event) any { return eventJSON(e) },
		answer: func(r *http.Request, saved store.Saved[logbook.Event], _ *logbook.Season) any {
			return entryAnswer(r, "event", eventJSON(&saved.Row), saved.Changes)
		},
		edited: func(e *edit, have *logbook.Event) logbook.Event {
			row := readEventJSON(e.Object)
			row.ID, row.SeasonID = have.ID, have.SeasonID
			return row
		},
	}
}

func (s *Service) deliveryRows() rowKind[logbook.Delivery] {
	return rowKind[logbook.Delivery]{
		of: s.DeliveryOf, edits: deliveryEdits, correct: s.Entries.CorrectDelivery, void: s.Entries.VoidDelivery, names: deliveryNames,
		entry: func(d *logbook.Delivery) *logbook.Entry { return &d.Entry },
		json:  func(d *logbook.Delivery) any { return deliveryJSON(d) },
		answer: func(r *http.Request, saved store.Saved[logbook.Delivery], _ *logbook.Season) any {
			return entryAnswer(r, "delivery", deliveryJSON(&saved.Row), saved.Changes)
		},
		edited: func(e *edit, have *logbook.Delivery) logbook.Delivery {
			row := readDeliveryJSON(e.Object)
			row.ID, row.SeasonID = have.ID, have.SeasonID
			return row
		},
	}
}

func (s *Service) sampleRows() rowKind[logbook.Sample] {
	return rowKind[logbook.Sample]{
		of: s.StoredSample, edits: sampleEdits, correct: s.Entries.CorrectSample, void: s.Entries.VoidSample,
		entry: func(m *logbook.Sample) *logbook.Entry { return &m.Entry },
		json:  func(m *logbook.Sample) any { return sampleJSON(m) },
		answer: func(r *http.Request, saved store.Saved[logbook.Sample], _ *logbook.Season) any {
			return entryAnswer(r, "sample", sampleJSON(&saved.Row), saved.Changes)
		},
		edited: func(e *edit, have *logbook.Sample) logbook.Sample {
			row := readSampleJSON(e.Object)
			row.ID, row.SeasonID = have.ID, have.SeasonID
			return row
		},
	}
}

// releaseRows has no void: the record of a release stands beside its event.
func (s *Service) releaseRows() rowKind[logbook.ReleaseRecord] {
	return rowKind[logbook.ReleaseRecord]{
		of: s.ReleaseOfRequest, edits: releaseEdits,
		correct: func(ctx context.Context, in entries.Sent, have, row *logbook.ReleaseRecord, from int64,
			reason string) (store.Saved[logbook.ReleaseRecord], error) {
			if err := logbook.Refuse(row.Validate()); err != nil {
				return store.Saved[logbook.ReleaseRecord]{}, err
			}
			return s.DB.CorrectRelease(ctx, in.Actor, have.ID, from, *row, reason, in.Now)
		},
		entry: func(x *logbook.ReleaseRecord) *logbook.Entry { return &x.Entry },
		json:  func(x *logbook.ReleaseRecord) any { return releaseJSON(x) },
		answer: func(_ *http.Request, saved store.Saved[logbook.ReleaseRecord], _ *logbook.Season) any {
			return releaseJSON(&saved.Row)
		},
		edited: func(e *edit, have *logbook.ReleaseRecord) logbook.ReleaseRecord {
			row := readReleaseJSON(e.Object)
			row.ID, row.SeasonID, row.EventID = have.ID, have.SeasonID, have.EventID
			return row
		},
	}
}

// CurrentRow returns the stored row that an error carries, as JSON shows it.
func CurrentRow(err error) any {
	if x := entries.Current[logbook.Check](err); x != nil {
		return checkJSON(x)
	}
	if x := entries.Current[logbook.Event](err); x != nil {
		return eventJSON(x)
	}
	if x := entries.Current[logbook.Delivery](err); x != nil {
		return deliveryJSON(x)
	}
	if x := entries.Current[logbook.Sample](err); x != nil {
		return sampleJSON(x)
	}
	if x := entries.Current[logbook.ReleaseRecord](err); x != nil {
		return releaseJSON(x)
	}
	return nil
}
