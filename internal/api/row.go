package api

import (
	"maps"
	"net/http"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// rowKind is how one kind of entry is created, shown, corrected and taken back
// through the JSON interface: the same steps for all of them.
type rowKind[T any] struct {
	name, path string // of one in an answer, and of all in addresses
	fields     []logbook.Field[T]
	entries    entries.Kind[T]
	// of loads the row of the address with its season, for an actor who may see it.
	of    func(*http.Request) (*T, *logbook.Season, error)
	ids   func(*T) (id, season *logbook.ID)
	entry func(*T) *logbook.Entry
	// fill completes what was read; have is nil for a new row.
	fill    func(o *form.Object, season *logbook.Season, row, have *T)
	confirm bool // a create may confirm surprising values
	// answer is that of a write, nil for the row with the flags that changed.
	answer func(*http.Request, store.Saved[T], *logbook.Season) any
}

// json is a row as it is shown.
func (k rowKind[T]) json(row *T) object {
	out := entryJSON(k.entry(row))
	out["id"], out["season_id"] = k.ids(row)
	maps.Copy(out, fieldsJSON(k.fields, row))
	return out
}

// read reads the fields of a row.
func (k rowKind[T]) read(o *form.Object, season *logbook.Season, have *T) (row T) {
	readFields(o, k.fields, &row)
	if k.fill != nil {
		k.fill(o, season, &row, have)
	}
	return row
}

func (k rowKind[T]) create(s *Service) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		n, err := s.readNewEntry(r)
		if err != nil {
			return err
		}
		row := k.read(n.body, n.Season, nil)
		_, season := k.ids(&row)
		*season = n.Season.ID
		if k.confirm {
			n.Confirmed = confirming(n.body.Words("confirm"), jsonNames(k.fields))
		}
		if err := n.end(); err != nil {
			return err
		}
		saved, err := k.entries.New(r.Context(), n.Sent, &row)
		if err != nil {
			return renamed(err, jsonNames(k.fields))
		}
		id, _ := k.ids(&saved.Row)
		setETag(w, k.entry(&saved.Row).Revision)
		w.Header().Set("Location", "/api/v1/"+k.path+"/"+string(*id))
		return req.WriteJSON(w, createdStatus(n.Key, saved.Repeated), k.answered(r, saved, n.Season))
	}
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
func (k rowKind[T]) patch(w http.ResponseWriter, r *http.Request) error {
	have, season, err := k.matching(r)
	if err != nil {
		return err
	}
	e, err := readEdit(r, k.json(have), edits(k.fields))
	if err != nil {
		return err
	}
	row := k.read(e.Object, season, have)
	id, place := k.ids(&row)
	haveID, havePlace := k.ids(have)
	*id, *place = *haveID, *havePlace
	for i := range k.fields { // the entered text and every decimal stay
		if f := &k.fields[i]; f.Type == logbook.OfTemperature && !e.changed(f.JSONName()) {
			to, unit := f.Typed(&row)
			text, haveUnit := f.Typed(have)
			*to, *unit = *text, *haveUnit
			f.SetNumber(&row, f.Number(have))
		}
	}
	if err := logbook.Refuse(*e.Problems); err != nil {
		return err
	}
	in := sent(r, season)
	in.Confirmed = confirming(e.confirm, jsonNames(k.fields))
	saved, err := k.entries.Correct(r.Context(), in, have, &row, k.entry(have).Revision, e.reason)
	return k.changed(w, r, season, saved, renamed(err, jsonNames(k.fields)))
}

// takeBack voids a row with a reason; it stays readable.
func (k rowKind[T]) takeBack(w http.ResponseWriter, r *http.Request) error {
	have, season, err := k.matching(r)
	if err != nil {
		return err
	}
	reason, err := readReason(r)
	if err != nil {
		return err
	}
	saved, err := k.entries.Void(r.Context(), sent(r, season), have, k.entry(have).Revision, reason)
	return k.changed(w, r, season, saved, err)
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

// changed answers a change.
func (k rowKind[T]) changed(w http.ResponseWriter, r *http.Request, season *logbook.Season, saved store.Saved[T],
	err error) error {
	if err != nil {
		return err
	}
	setETag(w, k.entry(&saved.Row).Revision)
	return req.WriteJSON(w, http.StatusOK, k.answered(r, saved, season))
}

func (k rowKind[T]) answered(r *http.Request, saved store.Saved[T], season *logbook.Season) any {
	if k.answer != nil {
		return k.answer(r, saved, season)
	}
	return object{k.name: k.json(&saved.Row), "flags": flagChangesJSON(r, saved.Changes)}
}

var checkShape = rowKind[logbook.Check]{name: "check", path: "checks", fields: logbook.CheckFields(), confirm: true,
	ids:   func(c *logbook.Check) (_, _ *logbook.ID) { return &c.ID, &c.SeasonID },
	entry: func(c *logbook.Check) *logbook.Entry { return &c.Entry },
	fill: func(_ *form.Object, _ *logbook.Season, c, _ *logbook.Check) {
		if c.Slot == "" {
			c.Slot = logbook.Morning
		}
	}}

func (s *Service) checkRows() rowKind[logbook.Check] {
	k := checkShape
	k.of, k.entries, k.answer = s.checkOf, s.Entries.Checks(), checkAnswer
	return k
}

var eventShape = rowKind[logbook.Event]{name: "event", path: "events", fields: logbook.EventFields(),
	ids:   func(e *logbook.Event) (_, _ *logbook.ID) { return &e.ID, &e.SeasonID },
	entry: func(e *logbook.Event) *logbook.Entry { return &e.Entry }}

func (s *Service) eventRows() rowKind[logbook.Event] {
	k := eventShape
	k.of, k.entries = s.eventOf, s.Entries.Events()
	return k
}

var deliveryShape = rowKind[logbook.Delivery]{name: "delivery", path: "deliveries", fields: logbook.DeliveryFields(),
	ids:   func(d *logbook.Delivery) (_, _ *logbook.ID) { return &d.ID, &d.SeasonID },
	entry: func(d *logbook.Delivery) *logbook.Entry { return &d.Entry }}

func (s *Service) deliveryRows() rowKind[logbook.Delivery] {
	k := deliveryShape
	k.of, k.entries = s.DeliveryOf, s.Entries.Deliveries()
	return k
}

var sampleShape = rowKind[logbook.Sample]{name: "sample", path: "samples", fields: logbook.SampleFields(),
	confirm: true,
	ids:     func(m *logbook.Sample) (_, _ *logbook.ID) { return &m.ID, &m.SeasonID },
	entry:   func(m *logbook.Sample) *logbook.Entry { return &m.Entry },
	fill: func(o *form.Object, _ *logbook.Season, m, _ *logbook.Sample) {
		form.FillSample(m, o.Fields["count"] != nil, o.Fields["total_g"] != nil)
	}}

func (s *Service) sampleRows() rowKind[logbook.Sample] {
	k := sampleShape
	k.of, k.entries = s.StoredSample, s.Entries.Samples()
	return k
}

// Supplier and stock of a new record of a release are those of the lot unless they
// are sent.
var releaseShape = rowKind[logbook.ReleaseRecord]{path: "releases", fields: logbook.ReleaseFields(),
	ids:   func(x *logbook.ReleaseRecord) (_, _ *logbook.ID) { return &x.ID, &x.SeasonID },
	entry: func(x *logbook.ReleaseRecord) *logbook.Entry { return &x.Entry },
	fill: func(o *form.Object, season *logbook.Season, x, have *logbook.ReleaseRecord) {
		if have != nil {
			x.EventID = have.EventID
			return
		}
		x.EventID = logbook.ID(o.Text("event_id"))
		if x.Supplier == "" {
			x.Supplier = season.Lot.Supplier
		}
		if x.Stock == "" {
			x.Stock = season.Lot.Stock
		}
	}}

func (s *Service) releaseRows() rowKind[logbook.ReleaseRecord] {
	k := releaseShape
	k.of, k.entries, k.answer = s.ReleaseOfRequest, s.Entries.Releases(), releaseAnswer
	return k
}

func releaseAnswer(_ *http.Request, saved store.Saved[logbook.ReleaseRecord], _ *logbook.Season) any {
	return releaseJSON(&saved.Row)
}

// The rows as they are shown.
var (
	checkJSON    = checkShape.json
	eventJSON    = eventShape.json
	deliveryJSON = deliveryShape.json
	sampleJSON   = sampleShape.json
	releaseJSON  = releaseShape.json
)

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
