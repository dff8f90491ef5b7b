package entries

import (
	"context"
	"slices"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Sent is an entry on its way: who sends it to which season, and what the sender
// says beside the values of the row.
type Sent struct {
	Actor  logbook.Actor
	Season *logbook.Season
	Now    time.Time
	Key    string // makes a create one entry however often it comes; "" does not
	// Confirmed tells whether a person says that the surprising value of a field
	// is right; nil confirms none.
	Confirmed func(field string) bool
	// Unread is what could not be read of the entry: it is refused, together with
	// what is wrong with the rest.
	Unread []logbook.Problem
	Opened civil.Date // day on which the form of a check was opened; zero for none
}

// confirmed parts the surprising values that are confirmed, now or by before, from
// the problems that are left. The fields come sorted, each once.
func (in *Sent) confirmed(problems []logbook.Problem, before func(field string) bool) (fields []string,
	left []logbook.Problem) {
	for _, p := range problems {
		if p.Soft && (in.Confirmed != nil && in.Confirmed(p.Field) || before(p.Field)) {
			fields = append(fields, p.Field)
		} else {
			left = append(left, p)
		}
	}
	slices.Sort(fields)
	return slices.Compact(fields), left
}

// Kind is how one kind of entry is judged and stored.
type Kind[T any] struct {
	s    *Service
	name string
	// judge notes in row what the sender confirmed, and returns what is wrong. have
	// is the row that a correction replaces, nil for a new one.
	judge   func(ctx context.Context, in *Sent, row, have *T) ([]logbook.Problem, error)
	id      func(*T) logbook.ID
	create  func(context.Context, logbook.Actor, T, time.Time, store.Write) (store.Saved[T], error)
	correct func(context.Context, logbook.Actor, logbook.ID, int64, T, string, time.Time, store.After) (store.Saved[T],
		error)
	void func(context.Context, logbook.Actor, logbook.ID, int64, string, time.Time, store.After) (store.Saved[T],
		error)
	guard func(in *Sent, row *T, after store.After) store.After // nil for none
}

// New judges and stores a row. What was stored under the same key before is
// answered again and not judged again: a day later it would be another question.
func (k Kind[T]) New(ctx context.Context, in Sent, row *T) (out store.Saved[T], err error) {
	once, answered, err := k.s.once(ctx, &in, k.name, row)
	if err != nil {
		return out, err
	}
	if err := k.refuse(ctx, &in, row, nil, answered); err != nil {
		return out, err
	}
	after, err := k.s.Assess.FlagsAfter(ctx, in.Season, in.Now)
	if err != nil {
		return out, err
	}
	if k.guard != nil {
		after = k.guard(&in, row, after)
	}
	return k.create(ctx, in.Actor, *row, in.Now, store.Write{Once: once, After: after})
}

// Correct judges a correction of have, which started from a revision, and stores
// it with its reason.
func (k Kind[T]) Correct(ctx context.Context, in Sent, have, row *T, from int64, reason string) (out store.Saved[T],
	err error) {
	if err := k.refuse(ctx, &in, row, have, false); err != nil {
		return out, err
	}
	after, err := k.s.Assess.FlagsAfter(ctx, in.Season, in.Now)
	if err != nil {
		return out, err
	}
	return k.correct(ctx, in.Actor, k.id(have), from, *row, reason, in.Now, after)
}

// Void takes have back with a reason; it stays readable.
func (k Kind[T]) Void(ctx context.Context, in Sent, have *T, from int64, reason string) (out store.Saved[T],
	err error) {
	after, err := k.s.Assess.FlagsAfter(ctx, in.Season, in.Now)
	if err != nil {
		return out, err
	}
	return k.void(ctx, in.Actor, k.id(have), from, reason, in.Now, after)
}

func (k Kind[T]) refuse(ctx context.Context, in *Sent, row, have *T, answered bool) error {
	problems := slices.Clone(in.Unread)
	if !answered {
		judged, err := k.judge(ctx, in, row, have)
		if err != nil {
			return err
		}
		problems = append(problems, judged...)
	}
	return logbook.Refuse(problems)
}

// CreateOnce sends a create with its key. A form that came again with other contents,
// after the Back button, is a new entry.
func CreateOnce(key, route string, payload any, create func(store.IdempotencyKey) error) error {
	once, err := store.NewIdempotencyKey(key, route, payload)
	if err != nil {
		return err
	}
	if err = create(once); IsMismatch(err) {
		return create(store.IdempotencyKey{})
	}
	return err
}

// once is the key of a create, and whether it has its answer already. A key that
// came with another row is refused (IsMismatch).
func (s *Service) once(ctx context.Context, in *Sent, name string, row any) (once store.IdempotencyKey, answered bool,
	err error) {
	if in.Key == "" {
		return once, false, nil
	}
	if once, err = store.NewIdempotencyKey(in.Key, "create "+name, row); err != nil {
		return once, false, err
	}
	answered, err = s.db.Answered(ctx, in.Actor, once)
	return once, answered, err
}
