package entries

import (
	"context"
	"errors"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Checks are how checks are written.
func (s *Service) Checks() Kind[logbook.Check] {
	return Kind[logbook.Check]{
		s: s, name: "check", create: s.db.SaveCheck, correct: s.db.CorrectCheck, void: s.db.VoidCheck,
		id:    func(c *logbook.Check) logbook.ID { return c.ID },
		judge: s.judgeCheck,
	}
}

// judgeCheck judges a check in its season and states the equipment that the tank
// does not have.
func (s *Service) judgeCheck(_ context.Context, in *Sent, c, have *logbook.Check) ([]logbook.Problem, error) {
	today := s.Assess.Today(in.Season.Site, in.Now)
	problems := c.Validate(logbook.CheckContext{Season: Without(in.Season, c, have), Today: today})
	if len(in.Unread) > 0 { // something was entered, it only could not be read
		problems = slices.DeleteFunc(problems, func(p logbook.Problem) bool { return p.Key == "check.empty" })
	}
	if !in.Opened.IsZero() && c.On == in.Opened && in.Opened.Before(today) {
		problems = append(problems, logbook.Problem{Field: "on", Key: "check_form.day_turned", Soft: true,
			Args: logbook.Args{"On": c.On, "Today": today}})
	}
	c.Confirmed, problems = in.confirmed(problems, func(field string) bool {
		return have != nil && slices.Contains(have.Confirmed, field) && valueOf(c, field) == valueOf(have, field)
	})
	NotFitted(c, in.Season.Tank)
	return problems, nil
}

// NotFitted states equipment that the tank does not have, where nothing else
// was said. It comes after validation: a check that only says so is empty.
func NotFitted(c *logbook.Check, t logbook.Tank) {
	for _, e := range []struct {
		state *logbook.Equipment
		has   bool
	}{{&c.Chiller, t.HasChiller}, {&c.Filter, t.HasFilter}, {&c.AirPump, t.HasAirPump}} {
		if !e.has && *e.state == "" {
			*e.state = logbook.NotFitted
		}
	}
}

// Without returns the season as it is without the check that c replaces or that
// holds its place: the same check sent twice must be judged the same twice.
func Without(s *logbook.Season, c, replace *logbook.Check) *logbook.Season {
	out := *s
	out.Checks = slices.DeleteFunc(slices.Clone(s.Checks), func(x logbook.Check) bool {
		if replace != nil {
			return x.ID == replace.ID
		}
		return x.On == c.On && x.Slot == c.Slot
	})
	return &out
}

// StandBy notes that a person looked at a check and stands by what it says: mark is
// what the forecast asked about. The check is that of the revision from.
func (s *Service) StandBy(ctx context.Context, in Sent, c logbook.Check, mark string, from int64, reason string) error {
	if slices.Contains(c.Confirmed, mark) {
		return nil
	}
	c.Confirmed = append(slices.Clone(c.Confirmed), mark)
	slices.Sort(c.Confirmed)
	after, err := s.Assess.FlagsAfter(ctx, in.Season, in.Now)
	if err != nil {
		return err
	}
	_, err = s.db.CorrectCheck(ctx, in.Actor, c.ID, from, c, reason, in.Now, after)
	return err
}

// valueOf is the canonical value of a field that can be surprising.
func valueOf(c *logbook.Check, field string) any {
	switch field {
	case "on":
		return c.On
	case "temperature":
		return c.Temperature
	case "stage":
		return c.Stage
	case "ph":
		return c.PH
	case "dead_eggs", "dead_alevins", "dead_fry":
		n, _ := c.Dead()
		return n
	}
	return nil
}

// RoundRow judges a check of a round, which store.SaveRound stores with those of
// the other tanks. A key that came with another check is set aside there.
func (s *Service) RoundRow(ctx context.Context, in Sent, c *logbook.Check) (store.RoundRow, error) {
	once, _, err := s.once(ctx, &in, "check", c)
	if err != nil && !IsMismatch(err) {
		return store.RoundRow{}, err
	}
	if err := s.Checks().refuse(ctx, &in, c, nil, false); err != nil {
		return store.RoundRow{}, err
	}
	after, err := s.Assess.FlagsAfter(ctx, in.Season, in.Now)
	return store.RoundRow{Check: *c, Write: store.Write{Once: once, After: after}}, err
}

func IsMismatch(err error) bool {
	var e *logbook.Error
	return errors.As(err, &e) && e.Key == "error.idempotency.mismatch"
}

// Current returns the stored row that stands in the way of a write, or nil.
func Current[T any](err error) *T {
	var cur *store.Current[T]
	if errors.As(err, &cur) {
		return &cur.Row
	}
	return nil
}

// MayCorrect reports whether the actor may correct a check of a site of theirs.
// A class corrects what a class entered for today.
func MayCorrect(a logbook.Actor, c *logbook.Check, today civil.Date) bool {
	return a.Role != logbook.Class || (c.By == logbook.Class && c.On == today)
}
