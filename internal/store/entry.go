package store

import (
	"context"
	"slices"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Write says how an entry is written.
type Write struct {
	Once  IdempotencyKey
	After After
}

// Saved is an entry as it is stored, with the flags that changed because of it.
type Saved[T any] struct {
	Row     T
	Changes []FlagChange
	// Repeated: the same entry had been stored before and nothing changed.
	Repeated bool
}

const (
	entryCols = "received_at, by_role, by_label, revision, reason, voided, changed_at, changed_role, changed_label"
	entryLen  = 9
)

func readEntry(r row) logbook.Entry {
	return logbook.Entry{ReceivedAt: r.at(0), By: logbook.Role(r.text(1)), ByLabel: r.text(2), Revision: r.int(3),
		Reason: r.text(4), Voided: r.flag(5), ChangedAt: r.at(6), ChangedBy: logbook.Role(r.text(7)),
		ChangedLabel: r.text(8)}
}

func entryArgs(e *logbook.Entry) []any {
	return []any{e.ReceivedAt.Unix(), e.By, e.ByLabel, e.Revision, e.Reason, e.Voided, e.ChangedAt.Unix(), e.ChangedBy,
		e.ChangedLabel}
}

func newEntry(actor logbook.Actor, now time.Time) logbook.Entry {
	now = now.UTC().Truncate(time.Second)
	return logbook.Entry{ReceivedAt: now, By: actor.Role, ByLabel: actor.Label, Revision: 1,
		ChangedAt: now, ChangedBy: actor.Role, ChangedLabel: actor.Label}
}

// next is the entry of a correction: who first stored the row stays.
func next(e logbook.Entry, actor logbook.Actor, reason string, voided bool, now time.Time) logbook.Entry {
	e.Revision++
	e.Reason, e.Voided = strings.TrimSpace(reason), voided
	e.ChangedAt, e.ChangedBy, e.ChangedLabel = now.UTC().Truncate(time.Second), actor.Role, actor.Label
	return e
}

// entryTable describes one table of entries of a season. cols are its own
// columns, after season_num and before entryCols; those of a kind with fields are
// the id and its fields.
type entryTable[T any] struct {
	name   string
	fields []logbook.Field[T]
	cols   []string
	args   func(*T) []any // values of cols
	read   func(row) T    // from cols and entryCols
	id     func(*T) *logbook.ID
	in     func(*T) *logbook.ID // season
	meta   func(*T) *logbook.Entry
	// add puts a row in its place in a season.
	add func(*logbook.Season, T)
	// same reports whether two rows say the same.
	same func(a, b *T) bool
	// taken finds the row that holds the place of v, or nil.
	taken func(ctx context.Context, c *conn, num int64, v *T) (*T, error)
	// exists is the error when the place is held by a row that says something else.
	exists func(have *T) error
}

// ofFields makes columns, args and read of a table from its fields.
func ofFields[T any](t entryTable[T]) entryTable[T] {
	t.cols = []string{"id"}
	for i := range t.fields {
		t.cols = append(t.cols, t.fields[i].ColumnName())
	}
	t.args = func(v *T) []any {
		out := []any{*t.id(v)}
		for i := range t.fields {
			out = append(out, argOf(&t.fields[i], v))
		}
		return out
	}
	t.read = func(r row) T {
		var v T
		*t.id(&v), *t.meta(&v) = logbook.ID(r.text(0)), readEntry(r[len(t.cols):])
		for i := range t.fields {
			readField(&t.fields[i], &v, r, i+1)
		}
		return v
	}
	if t.same == nil { // what two rows say, not who stored them when
		t.same = func(a, b *T) bool {
			return !slices.ContainsFunc(t.fields, func(f logbook.Field[T]) bool { return argOf(&f, a) != argOf(&f, b) })
		}
	}
	return t
}

// argOf is the value of a field as it is stored.
func argOf[T any](f *logbook.Field[T], v *T) any {
	switch {
	case f.IsText():
		return f.Text(v)
	case f.Type == logbook.OfDay:
		return *f.Day(v)
	case f.Type == logbook.OfNumbers:
		return numbersText(f.List(v))
	}
	n, ok := f.Number(v).Get()
	switch {
	case !ok:
		return nil
	case f.Type == logbook.OfWhole:
		return int64(n)
	}
	return n
}

// readField sets a field from column i of a row.
func readField[T any](f *logbook.Field[T], v *T, r row, i int) {
	switch {
	case f.IsText():
		f.SetText(v, r.text(i))
	case f.Type == logbook.OfDay:
		*f.Day(v) = r.date(i)
	case f.Type == logbook.OfNumbers:
		f.SetList(v, numbersOf[float64](r.text(i)))
	case f.Type == logbook.OfWhole:
		n := r.optInt(i)
		f.SetNumber(v, units.Optional[float64]{V: float64(n.V), OK: n.OK})
	default:
		f.SetNumber(v, optReal[float64](r, i))
	}
}

// list writes the columns as read by t.read.
func (t *entryTable[T]) list() string { return strings.Join(t.cols, ", ") + ", " + entryCols }

// byID reads one row of the table with the season it belongs to.
func (t *entryTable[T]) byID(ctx context.Context, c *conn, id logbook.ID) (v *T, err error) {
	n := len(t.cols) + entryLen
	found, err := c.one(ctx, func(r row) error {
		got := t.read(r)
		*t.in(&got) = logbook.ID(r.text(n))
		v = &got
		return nil
	}, "SELECT "+t.list()+", (SELECT id FROM season WHERE num = season_num) FROM "+t.name+" WHERE id = ?", id)
	if err == nil && !found {
		err = logbook.Missing(t.name)
	}
	return v, err
}

// create stores v, or finds that it is there already.
func (t *entryTable[T]) create(ctx context.Context, d *DB, actor logbook.Actor, v T, now time.Time,
	w Write) (out Saved[T], err error) {
	err = d.write(ctx, "create "+t.name, func(c *conn) error {
		out, err = t.createIn(ctx, c, actor, v, now, w)
		return err
	})
	return out, err
}

// createIn is create inside a transaction.
func (t *entryTable[T]) createIn(ctx context.Context, c *conn, actor logbook.Actor, v T, now time.Time,
	w Write) (Saved[T], error) {
	out := Saved[T]{Row: v}
	ans, found, err := w.Once.find(ctx, c, actor)
	if err != nil {
		return out, err
	}
	if found {
		err = t.repeated(ctx, c, &out, ans)
		return out, err
	}
	h, err := c.head(ctx, actor, *t.in(&v))
	if err != nil {
		return out, err
	}
	have, err := t.already(ctx, c, h, &v)
	if err != nil {
		return out, err
	}
	if have != nil {
		ans = created{ID: *t.id(have)}
		if err := t.repeated(ctx, c, &out, ans); err != nil {
			return out, err
		}
		return out, w.Once.keep(ctx, c, actor, now, ans)
	}
	if err := newID(t.id(&v)); err != nil {
		return out, err
	}
	*t.meta(&v) = newEntry(actor, now)
	if err := t.insert(ctx, c, h.num, &v); err != nil {
		return out, err
	}
	out.Row = v
	add := func(s *logbook.Season) { t.add(s, v) }
	if out.Changes, err = c.after(ctx, actor, h, *t.in(&v), now, w.After, add); err != nil {
		return out, err
	}
	return out, w.Once.keep(ctx, c, actor, now, created{ID: *t.id(&v), Changes: out.Changes})
}

func (t *entryTable[T]) insert(ctx context.Context, c *conn, num int64, v *T) error {
	args := append([]any{num}, t.args(v)...)
	return c.insert(ctx, t.name, "season_num, "+t.list(), append(args, entryArgs(t.meta(v))...)...)
}

func (t *entryTable[T]) repeated(ctx context.Context, c *conn, out *Saved[T], ans created) error {
	v, err := t.byID(ctx, c, ans.ID)
	if err != nil {
		return err
	}
	*out = Saved[T]{Row: *v, Changes: ans.Changes, Repeated: true}
	return nil
}

// already returns the stored row that says the same as v, nil when v is new,
// or an error when its place or its id is held by something else.
func (t *entryTable[T]) already(ctx context.Context, c *conn, h seasonHead, v *T) (*T, error) {
	if id := *t.id(v); id != "" {
		have, err := t.byID(ctx, c, id)
		switch {
		case err == nil && *t.in(have) == *t.in(v) && !t.meta(have).Voided && t.same(have, v):
			return have, nil
		case err == nil:
			return nil, logbook.Errorf(logbook.Conflict, "error.conflict", nil)
		case logbook.KindOf(err) != logbook.NotFound:
			return nil, err
		}
	}
	if t.taken == nil {
		return nil, nil
	}
	have, err := t.taken(ctx, c, h.num, v)
	if err != nil || have == nil {
		return nil, err
	}
	*t.in(have) = *t.in(v)
	if t.same(have, v) {
		return have, nil
	}
	return nil, t.exists(have)
}

// correct replaces the row id by v, or takes it back when v is nil.
func (t *entryTable[T]) correct(ctx context.Context, d *DB, actor logbook.Actor, id logbook.ID, from int64, v *T,
	reason string, now time.Time, after After) (Saved[T], error) {
	var out Saved[T]
	err := d.write(ctx, "correct "+t.name, func(c *conn) error {
		if strings.TrimSpace(reason) == "" {
			return logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
		}
		if err := logbook.Refuse(logbook.ValidateCorrection(reason)); err != nil {
			return err
		}
		have, err := t.byID(ctx, c, id)
		if err != nil {
			return err
		}
		season := *t.in(have)
		h, err := c.head(ctx, actor, season)
		if err != nil {
			return err
		}
		if e := t.meta(have); e.Voided {
			return logbook.Errorf(logbook.Conflict, "error.voided", nil)
		} else if e.Revision != from {
			conflict := stale(e.Revision)
			conflict.Err = &Current[T]{Row: *have}
			return conflict
		}
		row := *have
		if v != nil {
			row = *v
			*t.id(&row), *t.in(&row) = id, season
			if t.same(have, &row) {
				out = Saved[T]{Row: *have, Repeated: true}
				return nil
			}
			if t.taken != nil {
				other, err := t.taken(ctx, c, h.num, &row)
				if err != nil {
					return err
				}
				if other != nil && *t.id(other) != id {
					*t.in(other) = season
					return t.exists(other)
				}
			}
		}
		if err := d.pace.take(actor, now); err != nil {
			return err
		}
		*t.meta(&row) = next(*t.meta(have), actor, reason, v == nil, now)
		if err := t.update(ctx, c, &row); err != nil {
			return err
		}
		out.Row = row
		out.Changes, err = c.after(ctx, actor, h, season, now, after, nil)
		return err
	})
	return out, err
}

func (t *entryTable[T]) update(ctx context.Context, c *conn, v *T) error {
	set := strings.Join(t.cols, " = ?, ") + " = ?, " + strings.ReplaceAll(entryCols, ",", " = ?,") + " = ?"
	args := append(t.args(v), entryArgs(t.meta(v))...)
	_, err := c.exec(ctx, "UPDATE "+t.name+" SET "+set+" WHERE id = ?", append(args, *t.id(v))...)
	return err
}

// Current is the cause of error.stale and error.check.exists: the row that is
// stored now, to be shown beside what was sent.
type Current[T any] struct{ Row T }

// Error says that a row is there.
func (c *Current[T]) Error() string { return "another row is stored" }
