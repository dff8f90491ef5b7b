package store

import (
	"context"
	"encoding/json"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// LoadSeason returns a season whole, in one read transaction.
func (d *DB) LoadSeason(ctx context.Context, id logbook.ID) (*logbook.Season, error) {
	var s *logbook.Season
	err := d.read(ctx, "load season", func(c *conn) (err error) { s, err = c.season(ctx, id); return err })
	return s, err
}

// LoadSeasons calls fn with each season of ids, whole, in the order in which
// the seasons were made; unknown ids are left out. All are read in one
// transaction by a few queries, and one season at a time is in memory: fn owns
// it.
func (d *DB) LoadSeasons(ctx context.Context, ids []logbook.ID, fn func(*logbook.Season) error) error {
	return d.read(ctx, "load seasons", func(c *conn) error { return c.seasons(ctx, ids, fn) })
}

// numbered is a season before its entries.
type numbered struct {
	num int64
	s   *logbook.Season
}

const seasonLen = 9

// seasons reads the heads, then walks one cursor per table of entries in step.
func (c *conn) seasons(ctx context.Context, ids []logbook.ID, fn func(*logbook.Season) error) error {
	list, err := json.Marshal(ids)
	if err != nil {
		return err
	}
	var heads []numbered
	err = c.each(ctx, func(r row) error {
		tank, site := r[seasonLen:], r[seasonLen+tankLen:]
		heads = append(heads, numbered{num: r.int(0), s: &logbook.Season{
			ID: logbook.ID(r.text(1)), Label: r.text(2), ClosedOn: r.date(3), ReleaseFrom: r.date(4),
			ReleaseBy: r.date(5),
			Revision:  r.int(6), Edits: r.int(7), PermitID: logbook.ID(r.text(8)),
			Tank: readTank(tank), Site: readSite(site), Lot: readLot(site[siteLen:])}})
		return nil
	}, `SELECT season.num, season.id, label, closed_on, coalesce(permit_from, release_from_on),
		coalesce(permit_to, release_by_on), season.revision, season.edits, permit_id, `+
		tankRead+", "+siteRead+", "+lotRead+` FROM season JOIN tank ON tank.id = tank_id JOIN site ON site.id = site_id
		JOIN lot ON lot.id = lot_id LEFT JOIN (SELECT id AS permit_key, from_on AS permit_from,
		to_on AS permit_to FROM permit) ON permit_key = permit_id WHERE season.id IN (SELECT value FROM json_each(?)) ORDER BY season.num`, string(list))
	if err != nil || len(heads) == 0 {
		return err
	}
	closed, err := c.closedSpans(ctx, heads)
	if err != nil {
		return err
	}
	w, err := c.openWalks(ctx, heads)
	if err != nil {
		return err
	}
	defer w.close()
	for i, h := range heads {
		heads[i].s = nil // fn owns it
		h.s.ClosedDays = closed[h.s.Site.ID]
		if err := w.fill(h); err != nil {
			return err
		}
		if err := fn(h.s); err != nil {
			return err
		}
	}
	return nil
}

// closedSpans reads the closed days of the sites of the seasons.
func (c *conn) closedSpans(ctx context.Context, heads []numbered) (map[logbook.ID][]logbook.ClosedSpan, error) {
	ids := make([]logbook.ID, 0, len(heads))
	for _, h := range heads {
		ids = append(ids, h.s.Site.ID)
	}
	list, err := json.Marshal(ids)
	if err != nil {
		return nil, err
	}
	out := map[logbook.ID][]logbook.ClosedSpan{}
	err = c.each(ctx, func(r row) error {
		site := logbook.ID(r.text(0))
		out[site] = append(out[site], readSpan(r[1:]))
		return nil
	}, "SELECT site_id, "+spanRead+` FROM closed_span WHERE voided = 0 AND site_id IN (SELECT value FROM json_each(?))
		ORDER BY from_on, id`, string(list))
	return out, err
}

// walks are the open cursors of the tables of entries, each ordered by season.
type walks struct {
	delivery, check, event, reading, plan, guess, release, sample walk
}

// walk is a cursor that stands on a row not yet taken.
type walk struct {
	*cursor
	ready bool
}

func (c *conn) openWalks(ctx context.Context, heads []numbered) (w *walks, err error) {
	nums := make([]int64, len(heads))
	for i, h := range heads {
		nums[i] = h.num
	}
	list, err := json.Marshal(nums)
	if err != nil {
		return nil, err
	}
	w = &walks{}
	// The order is that of each table's primary key, so nothing is sorted.
	for _, q := range []struct {
		to                        *walk
		table, cols, where, order string
	}{
		{&w.delivery, "delivery", deliveryTable.list(), "", "on_date, id"},
		{&w.check, "checks", checkTable.list(), "", "on_date, slot, id"},
		{&w.event, "event", eventTable.list(), "", "on_date, id"},
		{&w.reading, "reading", readingRead, "AND " + stored, "read_at, daily, series"},
		{&w.plan, "plan", planTable.list(), "AND ended_on IS NULL AND voided = 0", "made_on, id"},
		{&w.guess, "guess", guessTable.list(), "AND voided = 0", "guessed_on, id"},
		{&w.sample, "sample", sampleTable.list(), "AND voided = 0", "on_date, id"},
		{&w.release, "release_record", releaseTable.list(), "AND voided = 0", "id"},
	} {
		q.to.cursor, err = c.cursor(ctx, "SELECT season_num, "+q.cols+" FROM "+q.table+
			" WHERE season_num IN (SELECT value FROM json_each(?)) "+q.where+" ORDER BY season_num, "+q.order,
			string(list))
		if err != nil {
			w.close()
			return nil, err
		}
		q.to.ready = q.to.next()
	}
	return w, nil
}

func (w *walks) close() {
	for _, k := range []*walk{&w.delivery, &w.check, &w.event, &w.reading, &w.plan, &w.guess, &w.release, &w.sample} {
		if k.cursor != nil {
			k.cursor.close()
		}
	}
}

// rows calls take for each row of season num.
func (k *walk) rows(num int64, take func(r row)) error {
	for k.ready && k.row.int(0) == num {
		take(k.row[1:])
		k.ready = k.next()
	}
	return k.err
}

// fill reads the entries of one season.
func (w *walks) fill(h numbered) error {
	s := h.s
	if err := w.delivery.rows(h.num, func(r row) {
		if v := deliveryTable.read(r); !v.Voided {
			v.SeasonID = s.ID
			s.Deliveries = append(s.Deliveries, v)
		}
	}); err != nil {
		return err
	}
	sorted := true
	if err := w.check.rows(h.num, func(r row) {
		v := checkTable.read(r)
		v.SeasonID = s.ID
		if v.Voided {
			s.Voided = append(s.Voided, v)
			return
		}
		sorted = sorted && v.Slot == logbook.Morning
		s.Checks = append(s.Checks, v)
	}); err != nil {
		return err
	}
	if !sorted { // the key orders slots by name
		sortChecks(s.Checks)
	}
	if err := w.event.rows(h.num, func(r row) {
		if v := eventTable.read(r); !v.Voided {
			v.SeasonID = s.ID
			s.Events = append(s.Events, v)
		}
	}); err != nil {
		return err
	}
	sortEvents(s.Events)
	if err := w.plan.rows(h.num, func(r row) {
		v := planTable.read(r)
		v.SeasonID = s.ID
		s.Plan = &v
	}); err != nil {
		return err
	}
	if err := w.guess.rows(h.num, func(r row) {
		v := guessTable.read(r)
		v.SeasonID = s.ID
		s.Guesses = append(s.Guesses, v)
	}); err != nil {
		return err
	}
	sortGuesses(s.Guesses)
	if err := w.sample.rows(h.num, func(r row) {
		v := sampleTable.read(r)
		v.SeasonID = s.ID
		s.Samples = append(s.Samples, v)
	}); err != nil {
		return err
	}
	if err := w.release.rows(h.num, func(r row) { addRelease(s, releaseTable.read(r)) }); err != nil {
		return err
	}
	err := w.reading.rows(h.num, func(r row) { s.Readings = append(s.Readings, readReading(r)) })
	logbook.MarkDisputed(s.Readings)
	return err
}

const readingRead = "read_at, daily, on_date, temperature_c, suspect, import_num"

func readReading(r row) logbook.Reading {
	v := logbook.Reading{On: r.date(2), Temperature: optReal[units.Celsius](r, 3).V, Quality: logbook.Good,
		Reason: r.text(4), File: r.int(5)}
	if !r.flag(1) {
		v.At = r.at(0)
	}
	if v.Reason != "" {
		v.Quality = logbook.Suspect
	}
	return v
}
