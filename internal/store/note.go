package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

var noteTable = entryTable[logbook.Note]{
	name: "note",
	cols: []string{"id", "body", "asks", "answers_id"},
	args: func(v *logbook.Note) []any { return []any{v.ID, v.Body, v.Asks, nullText(v.AnswersID)} },
	read: readNote,
	id:   func(v *logbook.Note) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Note) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Note) *logbook.Entry { return &v.Entry },
	same: func(a, b *logbook.Note) bool {
		return a.Body == b.Body && a.Asks == b.Asks && a.AnswersID == b.AnswersID
	},
}

func readNote(r row) logbook.Note {
	return logbook.Note{ID: logbook.ID(r.text(0)), Body: r.text(1), Asks: r.flag(2), AnswersID: logbook.ID(r.text(3)),
		Entry: readEntry(r[4:])}
}

// CreateNote stores a note between keeper and coordinator. Whoever answers a
// note has seen it.
func (d *DB) CreateNote(ctx context.Context, actor logbook.Actor, v logbook.Note, now time.Time,
	once IdempotencyKey) (Saved[logbook.Note], error) {
	var out Saved[logbook.Note]
	err := d.write(ctx, "create note", func(c *conn) error {
		if v.AnswersID != "" {
			asked, err := noteTable.byID(ctx, c, v.AnswersID)
			if err != nil {
				return err
			}
			if asked.SeasonID != v.SeasonID {
				return logbook.Missing("note")
			}
			if err := c.seeNote(ctx, actor, asked, now); err != nil {
				return err
			}
		}
		var err error
		out, err = noteTable.createIn(ctx, c, actor, v, now, Write{Once: once})
		return err
	})
	return out, err
}

func (c *conn) seeNote(ctx context.Context, actor logbook.Actor, n *logbook.Note, now time.Time) error {
	if n.By == actor.Role {
		return nil
	}
	_, err := c.exec(ctx, "INSERT INTO note_seen (note_id, by_role, by_label, seen_at) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
		n.ID, actor.Role, actor.Label, now.Unix())
	return err
}

// SeeNotes notes that the notes of a season to the actor's role have been seen.
func (d *DB) SeeNotes(ctx context.Context, actor logbook.Actor, season logbook.ID, now time.Time) error {
	return d.write(ctx, "see notes", func(c *conn) error {
		if _, err := c.head(ctx, actor, season); err != nil {
			return err
		}
		list, err := c.notes(ctx, "season.id = ?1", season)
		if err != nil {
			return err
		}
		for i := range list {
			if err := c.seeNote(ctx, actor, &list[i], now); err != nil {
				return err
			}
		}
		return nil
	})
}

// WithdrawNote takes a note back; it stays readable with a mark.
func (d *DB) WithdrawNote(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string,
	now time.Time) (Saved[logbook.Note], error) {
	return noteTable.correct(ctx, d, actor, id, from, nil, reason, now, nil)
}

// Notes lists the notes of a season with who has seen them, oldest first,
// withdrawn ones included.
func (d *DB) Notes(ctx context.Context, season logbook.ID) (out []logbook.Note, err error) {
	err = d.read(ctx, "list notes", func(c *conn) error {
		out, err = c.notes(ctx, "season.id = ?1", season)
		return err
	})
	return out, err
}

// OpenNotes lists the notes of the open seasons that the actor may see, by
// season, oldest first.
func (d *DB) OpenNotes(ctx context.Context, actor logbook.Actor) (map[logbook.ID][]logbook.Note, error) {
	out := map[logbook.ID][]logbook.Note{}
	err := d.read(ctx, "list notes of open seasons", func(c *conn) error {
		list, err := c.notes(ctx, "closed_on IS NULL AND (?1 = '' OR site_id = ?1)", actor.SiteID)
		for _, n := range list {
			out[n.SeasonID] = append(out[n.SeasonID], n)
		}
		return err
	})
	return out, err
}

func (c *conn) notes(ctx context.Context, where string, arg logbook.ID) ([]logbook.Note, error) {
	const from = " FROM note JOIN season ON season.num = season_num JOIN tank ON tank.id = tank_id WHERE "
	var out []logbook.Note
	place := map[logbook.ID]int{}
	n := len(noteTable.cols) + entryLen
	err := c.each(ctx, func(r row) error {
		v := readNote(r)
		v.SeasonID = logbook.ID(r.text(n))
		place[v.ID] = len(out)
		out = append(out, v)
		return nil
	}, "SELECT note.id, body, asks, answers_id, received_at, note.by_role, note.by_label, note.revision, note.reason, note.voided, "+
		"note.changed_at, note.changed_role, note.changed_label, season.id"+from+where+
		" ORDER BY received_at, answers_id IS NOT NULL, note.id", arg)
	if err != nil || len(out) == 0 {
		return out, err
	}
	err = c.each(ctx, func(r row) error {
		v := &out[place[logbook.ID(r.text(0))]]
		v.Seen = append(v.Seen, logbook.NoteSeen{By: logbook.Role(r.text(1)), ByLabel: r.text(2), At: r.at(3)})
		return nil
	}, "SELECT note_id, note_seen.by_role, note_seen.by_label, seen_at FROM note_seen JOIN note ON note.id = note_id "+
		"JOIN season ON season.num = season_num JOIN tank ON tank.id = tank_id WHERE "+where+
		" ORDER BY seen_at, note_seen.by_role", arg)
	return out, err
}
