package api

import (
	"context"
	"net/http"
	"slices"
	"time"

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
	edits  []string // fields that a PATCH can change
	// edited reads the row as it is to be. judge says what is wrong with it, and is
	// asked only when the body could be read.
	edited  func(e *edit, have *T) T
	judge   func(r *http.Request, row, have *T, season *logbook.Season, e *edit) ([]logbook.Problem, error)
	correct func(context.Context, logbook.Actor, logbook.ID, int64, T, string, time.Time, store.After) (store.Saved[T], error)
	void    func(context.Context, logbook.Actor, logbook.ID, int64, string, time.Time, store.After) (store.Saved[T], error)
	id      func(*T) logbook.ID
	quiet   bool // no rule looks at rows of this kind
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
		problems := *e.Problems
		if len(problems) == 0 {
			if problems, err = k.judge(r, &row, have, season, e); err != nil {
				return err
			}
		}
		if err := logbook.Refuse(problems); err != nil {
			return err
		}
		return k.store(w, r, s, season, func(after store.After) (store.Saved[T], error) {
			v := req.Of(r)
			return k.correct(r.Context(), v.Actor, k.id(have), k.entry(have).Revision, row, e.reason, v.Now, after)
		})
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
		return k.store(w, r, s, season, func(after store.After) (store.Saved[T], error) {
			v := req.Of(r)
			return k.void(r.Context(), v.Actor, k.id(have), k.entry(have).Revision, reason, v.Now, after)
		})
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

// store writes a change with what the rules say after it, and answers.
func (k rowKind[T]) store(w http.ResponseWriter, r *http.Request, s *Service, season *logbook.Season, write func(store.After) (store.Saved[T], error)) error {
	var after store.After
	if !k.quiet {
		var err error
		if after, err = s.Assess.FlagsAfter(r.Context(), season, req.Of(r).Now); err != nil {
			return err
		}
	}
	saved, err := write(after)
	if err != nil {
		return err
	}
	setETag(w, k.entry(&saved.Row).Revision)
	return req.WriteJSON(w, http.StatusOK, k.answer(r, saved, season))
}

func (s *Service) checkRows() rowKind[logbook.Check] {
	return rowKind[logbook.Check]{
		of: s.checkOf, edits: checkEdits, correct: s.DB.CorrectCheck, void: s.DB.VoidCheck,
		id:    func(c *logbook.Check) logbook.ID { return c.ID },
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
		judge: func(r *http.Request, c, have *logbook.Check, season *logbook.Season, e *edit) ([]logbook.Problem, error) {
			return judgeCheck(c, have, season, s.Assess.Today(season.Site, req.Of(r).Now), e.confirm), nil
		},
	}
}

func (s *Service) eventRows() rowKind[logbook.Event] {
	return rowKind[logbook.Event]{
		of: s.eventOf, edits: eventEdits, correct: s.DB.CorrectEvent, void: s.DB.VoidEvent,
		id:    func(e *logbook.Event) logbook.ID { return e.ID },
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
		judge: func(r *http.Request, row, _ *logbook.Event, season *logbook.Season, _ *edit) ([]logbook.Problem, error) {
			return form.Renamed(row.Validate(season, s.Assess.Today(season.Site, req.Of(r).Now)), eventNames), nil
		},
	}
}

func (s *Service) deliveryRows() rowKind[logbook.Delivery] {
	return rowKind[logbook.Delivery]{
		of: s.DeliveryOf, edits: deliveryEdits, correct: s.DB.CorrectDelivery, void: s.DB.VoidDelivery,
		id:    func(d *logbook.Delivery) logbook.ID { return d.ID },
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
		judge: func(r *http.Request, row, _ *logbook.Delivery, season *logbook.Season, _ *edit) ([]logbook.Problem, error) {
			return s.judgeDelivery(r, *row, season), nil
		},
	}
}

func (s *Service) sampleRows() rowKind[logbook.Sample] {
	return rowKind[logbook.Sample]{
		of: s.StoredSample, edits: sampleEdits, correct: s.DB.CorrectSample, void: s.DB.VoidSample,
		id:    func(m *logbook.Sample) logbook.ID { return m.ID },
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
		judge: func(r *http.Request, row, have *logbook.Sample, season *logbook.Season, e *edit) ([]logbook.Problem, error) {
			return s.JudgeSample(r, row, season, func(field string) bool {
				return slices.Contains(e.confirm, field) || slices.Contains(have.Confirmed, field) && entries.SampleSame(row, have)
			})
		},
	}
}

// releaseRows has no void: the record of a release stands beside its event.
func (s *Service) releaseRows() rowKind[logbook.ReleaseRecord] {
	return rowKind[logbook.ReleaseRecord]{
		of: s.ReleaseOfRequest, edits: releaseEdits, quiet: true,
		correct: func(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, row logbook.ReleaseRecord, reason string, now time.Time,
			_ store.After) (store.Saved[logbook.ReleaseRecord], error) {
			return s.DB.CorrectRelease(ctx, actor, id, from, row, reason, now)
		},
		id:    func(x *logbook.ReleaseRecord) logbook.ID { return x.ID },
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
		judge: func(_ *http.Request, row, _ *logbook.ReleaseRecord, _ *logbook.Season, _ *edit) ([]logbook.Problem, error) {
			return row.Validate(), nil
		},
	}
}

// currentOf returns the stored row that an error carries, as JSON shows it.
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
