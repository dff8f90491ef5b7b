package store

import (
	"context"
	"fmt"
	"path/filepath"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Finding is one thing that Verify found: a message key and its arguments.
type Finding struct {
	Key  string
	Args logbook.Args
}

// Report is the answer of Verify.
type Report struct {
	Problems []Finding // what must never be
	Warnings []Finding // what a person should look at
	Seasons  int
	Checks   int
	Readings int
}

// OK reports whether there are no problems.
func (r *Report) OK() bool { return len(r.Problems) == 0 }

// Verify checks the file and everything that must always hold in it. The
// error says that it could not check; what it found is in the report.
func (d *DB) Verify(ctx context.Context, now time.Time) (Report, error) {
	var rep Report
	had, err := readCount(filepath.Dir(d.path)) // before reading, so that it cannot run ahead
	if err != nil {
		return rep, wrap("verify", err)
	}
	found, err := checkFile(ctx, d.reader)
	if err != nil {
		return rep, wrap("verify", err)
	}
	for _, f := range found {
		rep.problem("verify.file", logbook.Args{"Detail": f})
	}
	err = d.read(ctx, "verify", func(c *conn) error {
		for _, check := range []func(context.Context, *conn) error{
			rep.wellFormedIDs, rep.historyComplete, rep.flagHistory, rep.onePerSlot, rep.seasons,
		} {
			if err := check(ctx, c); err != nil {
				return err
			}
		}
		if err := rep.complete(ctx, c, had); err != nil {
			return err
		}
		return rep.clock(ctx, c, now)
	})
	return rep, err
}

func (r *Report) problem(key string, args logbook.Args) {
	r.Problems = append(r.Problems, Finding{key, args})
}

func (r *Report) warn(key string, args logbook.Args) {
	r.Warnings = append(r.Warnings, Finding{key, args})
}

// wellFormedIDs: every id looks like one that the logbook makes.
func (r *Report) wellFormedIDs(ctx context.Context, c *conn) error {
	for _, table := range []string{"programme", "site", "tank", "lot", "season", "delivery", "checks", "event",
		"sample", "kit", "closed_span", "permit", "release_place",
		"plan", "guess", "release_record", "photo", "duty", "cover", "note", "board_view", "import", "threshold",
		"flag", "account", "device", "api_token"} {
		if err := c.each(ctx, func(row row) error {
			if id := row.text(0); !wellFormed(logbook.ID(id)) {
				r.problem("verify.id", logbook.Args{"Table": table, "ID": id})
			}
			return nil
		}, "SELECT id FROM "+table); err != nil {
			return err
		}
	}
	return nil
}

// historyComplete: a row of revision n has n-1 old forms, numbered 1 to n-1.
func (r *Report) historyComplete(ctx context.Context, c *conn) error {
	for _, t := range []struct{ table, revision string }{
		{"programme", "revision"}, {"site", "revision"}, {"tank", "revision"}, {"lot", "edits"}, {"season", "edits"},
		{"delivery", "revision"}, {"checks", "revision"}, {"event", "revision"}, {"sample", "revision"},
		{"kit", "revision"}, {"permit", "revision"}, {"release_place", "revision"},
		{"plan", "revision"}, {"guess", "revision"}, {"release_record", "revision"},
		{"photo", "revision"}, {"closed_span", "revision"}, {"threshold", "revision"},
		{"duty", "revision"}, {"cover", "revision"}, {"note", "revision"},
	} {
		if err := c.each(ctx, func(row row) error {
			r.problem("verify.history", logbook.Args{"Table": t.table, "ID": row.text(0), "Revision": int(row.int(1)),
				"Kept": int(row.int(2))})
			return nil
		}, fmt.Sprintf(`SELECT x.id, x.%[2]s, count(h.num) FROM %[1]s x LEFT JOIN history h ON h.table_name = '%[1]s' AND h.row_id = x.id
			GROUP BY x.id HAVING count(h.num) <> x.%[2]s - 1 OR coalesce(min(h.revision), 1) <> 1
				OR coalesce(max(h.revision), 0) <> x.%[2]s - 1`, t.table, t.revision)); err != nil {
			return err
		}
	}
	return nil
}

// flagHistory: the last kept step of a flag is the flag.
func (r *Report) flagHistory(ctx context.Context, c *conn) error {
	return c.each(ctx, func(row row) error {
		r.problem("verify.flag", logbook.Args{"ID": row.text(0)})
		return nil
	}, `SELECT id FROM flag WHERE step IS NOT (SELECT step FROM flag_history WHERE flag_id = flag.id ORDER BY num DESC LIMIT 1)
		OR NOT EXISTS (SELECT 1 FROM flag_history WHERE flag_id = flag.id AND step = 'raised')`)
}

// onePerSlot: one check that counts for each day and slot.
func (r *Report) onePerSlot(ctx context.Context, c *conn) error {
	return c.each(ctx, func(row row) error {
		r.problem("verify.slot", logbook.Args{"Season": row.text(0), "On": row.date(1), "Count": int(row.int(2))})
		return nil
	}, `SELECT (SELECT id FROM season WHERE num = season_num), on_date, count(*) FROM checks NOT INDEXED WHERE voided = 0
		GROUP BY season_num, on_date, slot HAVING count(*) > 1`)
}

// sums is the account of a season added up by SQLite, apart from the domain's.
type sums struct{ delivered, dead, in, out, sampled, released int }

func seasonSums(ctx context.Context, c *conn) (map[logbook.ID]sums, error) {
	out := map[logbook.ID]sums{}
	err := c.each(ctx, func(r row) error {
		n := func(i int) int { return int(r.int(i)) }
		out[logbook.ID(r.text(0))] = sums{n(1), n(2), n(3), n(4), n(5), n(6)}
		return nil
	}, `SELECT s.id,
		(SELECT coalesce(sum(egg_count), 0) FROM delivery WHERE season_num = s.num AND voided = 0),
		(SELECT coalesce(sum(coalesce(dead_eggs, 0) + coalesce(dead_alevins, 0) + coalesce(dead_fry, 0)), 0) FROM checks WHERE season_num = s.num AND voided = 0),
		coalesce(sum(e.fish_count) FILTER (WHERE e.kind = 'moved_in'), 0), coalesce(sum(e.fish_count) FILTER (WHERE e.kind = 'moved_out'), 0),
		coalesce(sum(e.fish_count) FILTER (WHERE e.kind = 'sample_taken'), 0)
			+ (SELECT coalesce(sum(lost_count), 0) FROM sample WHERE season_num = s.num AND voided = 0), coalesce(sum(e.fish_count) FILTER (WHERE e.kind = 'release'), 0)
		FROM season s LEFT JOIN event e ON e.season_num = s.num AND e.voided = 0 GROUP BY s.num`)
	return out, err
}

// seasons checks each season as it is loaded.
func (r *Report) seasons(ctx context.Context, c *conn) error {
	want, err := seasonSums(ctx, c)
	if err != nil {
		return err
	}
	var ids []logbook.ID
	for id := range want {
		ids = append(ids, id)
	}
	return c.seasons(ctx, ids, func(s *logbook.Season) error {
		r.Seasons++
		r.Checks += len(s.Checks)
		r.Readings += len(s.Readings)
		r.season(s, want[s.ID])
		return nil
	})
}

func (r *Report) season(s *logbook.Season, w sums) {
	last := civil.MustParse("9999-12-31")
	t := s.TotalsOn(last)
	if got := (sums{t.Delivered, t.Dead, t.MovedIn, t.MovedOut, t.Sampled, t.Released}); got != w || !t.Balanced() {
		r.problem("verify.totals", logbook.Args{"Season": string(s.ID), "Label": s.Label, "Tank": s.Tank.Name})
	}
	if t.Unexplained != 0 {
		r.warn("verify.unexplained", logbook.Args{"Season": string(s.ID), "Label": s.Label, "Tank": s.Tank.Name,
			"Count": t.Unexplained})
	}
	if s.StartedOn().IsZero() {
		if n := len(s.Checks) + len(s.Events) + len(s.Samples); n > 0 {
			r.warn("verify.no_delivery", logbook.Args{"Season": string(s.ID), "Label": s.Label, "Tank": s.Tank.Name,
				"Count": n})
		}
		return
	}
	outside := func(key string, id logbook.ID, on civil.Date) {
		if s.Outside(on) {
			r.warn(key, logbook.Args{"ID": string(id), "On": on, "Tank": s.Tank.Name})
		}
	}
	for i := range s.Checks {
		outside("verify.check_outside", s.Checks[i].ID, s.Checks[i].On)
	}
	for i := range s.Samples {
		outside("verify.sample_outside", s.Samples[i].ID, s.Samples[i].On)
	}
	for i := range s.Events {
		// Fish moved in may start a season; everything else needs fish in the tank.
		if v := &s.Events[i]; v.Kind != logbook.MovedIn {
			outside("verify.event_outside", v.ID, v.On)
		}
	}
}

// clock: an entry later than now means that the clock of the computer has gone
// back, as on a small computer without a battery.
func (r *Report) clock(ctx context.Context, c *conn, now time.Time) error {
	last, err := c.lastWrite(ctx)
	if err == nil && last.After(now) {
		r.warn("verify.clock", logbook.Args{"Last": last, "Now": now})
	}
	return err
}

// LastWrite returns the instant of the latest entry, zero when there is none.
// A clock that shows an earlier time is wrong.
func (d *DB) LastWrite(ctx context.Context) (t time.Time, err error) {
	err = d.read(ctx, "read last entry", func(c *conn) (err error) { t, err = c.lastWrite(ctx); return err })
	return t, err
}

func (c *conn) lastWrite(ctx context.Context) (t time.Time, err error) {
	_, err = c.one(ctx, func(r row) error { t = r.at(0); return nil }, `SELECT max(at) FROM (
		SELECT max(changed_at) AS at FROM checks UNION ALL SELECT max(changed_at) FROM event UNION ALL SELECT max(changed_at) FROM delivery
		UNION ALL SELECT max(changed_at) FROM sample UNION ALL SELECT max(changed_at) FROM release_record UNION ALL SELECT max(changed_at) FROM photo
		UNION ALL SELECT max(changed_at) FROM note UNION ALL SELECT max(changed_at) FROM duty UNION ALL SELECT max(changed_at) FROM cover
		UNION ALL SELECT max(changed_at) FROM kit UNION ALL SELECT max(changed_at) FROM permit UNION ALL SELECT max(changed_at) FROM release_place UNION ALL SELECT max(at) FROM flag_finding
		UNION ALL SELECT max(received_at) FROM import UNION ALL SELECT max(step_at) FROM flag)`)
	return t, err
}
