package store

import (
	"context"
	"slices"
	"strings"
	"time"

	"reddside/internal/logbook"
)

var guessTable = entryTable[logbook.Guess]{
	name: "guess",
	cols: []string{"id", "group_label", "group_key", "guessed_on", "made_on"},
	args: func(v *logbook.Guess) []any {
		return []any{v.ID, v.Group, logbook.GroupKey(v.Group), v.On, v.MadeOn}
	},
	read: func(r row) logbook.Guess {
		return logbook.Guess{ID: logbook.ID(r.text(0)), Group: r.text(1), On: r.date(3), MadeOn: r.date(4),
			Entry: readEntry(r[5:])}
	},
	id:   func(v *logbook.Guess) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Guess) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Guess) *logbook.Entry { return &v.Entry },
	add:  func(s *logbook.Season, v logbook.Guess) { s.Guesses = append(s.Guesses, v); sortGuesses(s.Guesses) },
	same: func(a, b *logbook.Guess) bool { return a.Group == b.Group && a.On == b.On && a.MadeOn == b.MadeOn },
	exists: func(have *logbook.Guess) error {
		return &logbook.Error{Kind: logbook.Conflict, Key: "guess.exists", Args: logbook.Args{"Group": have.Group,
			"On": have.On},
			Err: &Current[logbook.Guess]{Row: *have}}
	},
}

func init() { guessTable.taken = guessOf }

// guessOf finds the guess of the group of v.
func guessOf(ctx context.Context, c *conn, num int64, v *logbook.Guess) (have *logbook.Guess, err error) {
	_, err = c.one(ctx, func(r row) error { got := guessTable.read(r); have = &got; return nil },
		"SELECT "+guessTable.list()+" FROM guess WHERE season_num = ? AND group_key = ? AND voided = 0", num,
		logbook.GroupKey(v.Group))
	return have, err
}

func sortGuesses(list []logbook.Guess) {
	slices.SortFunc(list, func(a, b logbook.Guess) int {
		return first(a.On.Compare(b.On), strings.Compare(logbook.GroupKey(a.Group), logbook.GroupKey(b.Group)),
			strings.Compare(string(a.ID), string(b.ID)))
	})
}

// CreateGuess stores the guess of a group. A group has one guess of a season: a
// second one is refused with guess.exists, whose cause is *Current[logbook.Guess].
func (d *DB) CreateGuess(ctx context.Context, actor logbook.Actor, v logbook.Guess, now time.Time,
	w Write) (Saved[logbook.Guess], error) {
	return guessTable.create(ctx, d, actor, v, now, w)
}

// CorrectGuess replaces what a guess says; see CorrectCheck.
func (d *DB) CorrectGuess(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Guess,
	reason string,
	now time.Time) (Saved[logbook.Guess], error) {
	return guessTable.correct(ctx, d, actor, id, from, &v, reason, now, nil)
}

// Guess returns one guess, voided or not.
func (d *DB) Guess(ctx context.Context, id logbook.ID) (logbook.Guess, error) {
	return readOne(ctx, d, &guessTable, id)
}
