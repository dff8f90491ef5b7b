package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// BoardView is a choice of filters and grouping of the board under a name, shared
// by the coordinators of the programme.
type BoardView struct {
	ID        logbook.ID
	Name      string
	Query     string // of the board's address, without "?"
	CreatedBy string
}

// maxBoardViews bounds the views of a programme: more would not be found again.
const maxBoardViews = 20

// SaveBoardView keeps a view. The same name takes the place of the one before,
// which stays on record.
func (d *DB) SaveBoardView(ctx context.Context, actor logbook.Actor, v BoardView, now time.Time) error {
	return d.write(ctx, "save board view", func(c *conn) error {
		if _, err := c.exec(ctx, "UPDATE board_view SET removed_at = ?, removed_by = ? WHERE name = ? AND removed_at IS NULL",
			now.Unix(), actor.Label, v.Name); err != nil {
			return err
		}
		n := 0
		if _, err := c.one(ctx, func(r row) error { n = int(r.int(0)); return nil },
			"SELECT count(*) FROM board_view WHERE removed_at IS NULL"); err != nil {
			return err
		}
		if n >= maxBoardViews {
			return logbook.Refuse([]logbook.Problem{{Field: "name", Key: "board.view.too_many",
				Args: logbook.Args{"Max": maxBoardViews}}})
		}
		return c.insert(ctx, "board_view", "id, name, query, created_at, created_by", logbook.NewID(), v.Name, v.Query,
			now.Unix(), actor.Label)
	})
}

// RemoveBoardView takes a view away, or is NotFound.
func (d *DB) RemoveBoardView(ctx context.Context, actor logbook.Actor, id logbook.ID, now time.Time) error {
	return d.changeOne(ctx, "view", "UPDATE board_view SET removed_at = ?, removed_by = ? WHERE id = ? AND removed_at IS NULL", now.Unix(), actor.Label, id)
}

// BoardViews lists the views by name.
func (d *DB) BoardViews(ctx context.Context) ([]BoardView, error) {
	var out []BoardView
	err := d.read(ctx, "list board views", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			out = append(out, BoardView{ID: logbook.ID(r.text(0)), Name: r.text(1), Query: r.text(2),
				CreatedBy: r.text(3)})
			return nil
		}, "SELECT id, name, query, created_by FROM board_view WHERE removed_at IS NULL ORDER BY name COLLATE by_number")
	})
	return out, err
}
