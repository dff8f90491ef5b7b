package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Threshold is a limit of a rule as the programme set it, in place of the
// stock value. Species and Stage are empty when it holds for all.
type Threshold struct {
	ID      logbook.ID
	Key     string
	Species logbook.Species
	Stage   logbook.Stage
	Value   units.Optional[float64] // absent: back to the stock value
	Source  string                  // publisher and citation, "" for a local choice
	logbook.Entry
}

// SetThreshold sets a limit, with a reason. v.Revision is the revision the
// change started from, 0 when the limit was the stock one. See SetThresholds
// for check.
func (d *DB) SetThreshold(ctx context.Context, actor logbook.Actor, v Threshold, reason string, now time.Time,
	check func(all []Threshold) error) (Threshold, error) {
	out, err := d.SetThresholds(ctx, actor, []Threshold{v}, reason, now, check)
	if err != nil {
		return v, err
	}
	return out[0], nil
}

// SetThresholds sets several limits for one reason: all of them or, after an
// error, none. check is given all limits of the programme as they would be
// stored, before anybody else can change one; what it returns refuses the
// change. Nil checks nothing.
func (d *DB) SetThresholds(ctx context.Context, actor logbook.Actor, list []Threshold, reason string, now time.Time,
	check func(all []Threshold) error) ([]Threshold, error) {
	var out []Threshold
	err := d.write(ctx, "set thresholds", func(c *conn) error {
		if actor.Role != logbook.Coordinator {
			return logbook.Errorf(logbook.Forbidden, "error.coordinator_only", nil)
		}
		if strings.TrimSpace(reason) == "" {
			return logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
		}
		for _, v := range list {
			v, err := c.setThreshold(ctx, actor, v, reason, now)
			if err != nil {
				return err
			}
			out = append(out, v)
		}
		if check == nil {
			return nil
		}
		all, _, err := c.thresholds(ctx)
		if err != nil {
			return err
		}
		return check(all)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func (c *conn) setThreshold(ctx context.Context, actor logbook.Actor, v Threshold, reason string,
	now time.Time) (Threshold, error) {
	var have Threshold
	found, err := c.one(ctx, func(r row) error { have = readThreshold(r); return nil },
		"SELECT "+thresholdRead+" FROM threshold WHERE key = ? AND species = ? AND stage = ?", v.Key, v.Species,
		v.Stage)
	if err != nil {
		return v, err
	}
	if have.Revision != v.Revision {
		return v, stale(have.Revision)
	}
	if found {
		v.ID, v.Entry = have.ID, next(have.Entry, actor, reason, false, now)
		_, err = c.exec(ctx, `UPDATE threshold SET value = ?, source = ?, revision = ?, reason = ?, changed_at = ?, changed_role = ?, changed_label = ?
			WHERE id = ?`, null(v.Value), v.Source, v.Revision, v.Reason, v.ChangedAt.Unix(), v.ChangedBy, v.ChangedLabel, v.ID)
		return v, err
	}
	v.ID, v.Entry = logbook.NewID(), newEntry(actor, now)
	v.Reason = strings.TrimSpace(reason)
	return v, c.insert(ctx, "threshold",
		"id, key, species, stage, value, source, received_at, by_role, by_label, revision, reason, changed_at, changed_role, changed_label",
		v.ID, v.Key, v.Species, v.Stage, null(v.Value), v.Source, v.ReceivedAt.Unix(), v.By, v.ByLabel, v.Revision,
		v.Reason,
		v.ChangedAt.Unix(), v.ChangedBy, v.ChangedLabel)
}

const thresholdRead = "id, key, species, stage, value, source, received_at, by_role, by_label, revision, reason, 0, changed_at, changed_role, changed_label"

func readThreshold(r row) Threshold {
	return Threshold{ID: logbook.ID(r.text(0)), Key: r.text(1), Species: logbook.Species(r.text(2)),
		Stage: logbook.Stage(r.text(3)),
		Value: optReal[float64](r, 4), Source: r.text(5), Entry: readEntry(r[6:])}
}

// Thresholds lists the limits that the programme set, and the revision of the
// whole profile: it grows with every change.
func (d *DB) Thresholds(ctx context.Context) (list []Threshold, revision int64, err error) {
	err = d.read(ctx, "list thresholds", func(c *conn) (err error) {
		list, revision,
			err = c.thresholds(ctx)
		return err
	})
	return list, revision, err
}

func (c *conn) thresholds(ctx context.Context) (list []Threshold, revision int64, err error) {
	err = c.each(ctx, func(r row) error {
		v := readThreshold(r)
		list, revision = append(list, v), revision+v.Revision
		return nil
	}, "SELECT "+thresholdRead+" FROM threshold ORDER BY key, species, stage")
	return list, revision, err
}

// Threshold returns the old form of a limit.
func (p Past) Threshold() (Threshold, error) {
	var v struct {
		ID, Key, Reason, Source string
		Species                 logbook.Species
		Stage                   logbook.Stage
		Value                   *float64
		Revision                int64
		ChangedAt               int64        `json:"changed_at"`
		ChangedRole             logbook.Role `json:"changed_role"`
		ChangedLabel            string       `json:"changed_label"`
	}
	if p.Table != "threshold" {
		return Threshold{}, fmt.Errorf("history of %s is no row of threshold", p.Table)
	}
	if err := json.Unmarshal(p.Row, &v); err != nil {
		return Threshold{}, fmt.Errorf("history of threshold: %w", err)
	}
	t := Threshold{ID: logbook.ID(v.ID), Key: v.Key, Species: v.Species, Stage: v.Stage, Source: v.Source}
	if v.Value != nil {
		t.Value = units.Some(*v.Value)
	}
	t.Revision, t.Reason, t.ChangedAt, t.ChangedBy, t.ChangedLabel = v.Revision, v.Reason,
		time.Unix(v.ChangedAt, 0).UTC(), v.ChangedRole, v.ChangedLabel
	return t, nil
}
