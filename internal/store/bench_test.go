package store

import (
	"context"
	"database/sql"
	"fmt"
	"testing"
	"time"

	"reddside/internal/logbook"
)

const (
	boardTanks = 1000
	boardDays  = 150
)

// fillBoard stores the rows of the board through the statements of the store,
// in few transactions.
func fillBoard(tb testing.TB, p *planted, tanks, days int) []logbook.ID {
	tb.Helper()
	ctx := context.Background()
	var ids []logbook.ID
	if err := p.write(ctx, "fill", func(c *conn) error {
		for i := range tanks {
			tank := p.tank
			tank.ID, tank.Name = "", fmt.Sprint("Tank ", i)
			if err := c.createTank(ctx, coordinator, &tank, noon); err != nil {
				return err
			}
			s := logbook.Season{Label: "2025-26", Tank: tank, Lot: p.lot}
			num, err := c.createSeason(ctx, coordinator, &s, noon)
			if err != nil {
				return err
			}
			ids = append(ids, s.ID)
			d := logbook.Delivery{ID: logbook.NewID(), On: day, Count: 200, Method: logbook.ByHand,
				Entry: newEntry(coordinator, noon)}
			if err := deliveryTable.insert(ctx, c, num, &d); err != nil {
				return err
			}
		}
		// Day by day, as it happens: the rows of one season arrive scattered.
		for n := range days {
			for i := range tanks {
				v := p.check(day.AddDays(n))
				v.ID, v.Entry = logbook.NewID(), newEntry(coordinator, noon)
				if err := checkTable.insert(ctx, c, int64(i+2), &v); err != nil {
					return err
				}
			}
		}
		return nil
	}); err != nil {
		tb.Fatal(err)
	}
	return ids
}

// bareChecks reads every column of every check through database/sql, as one
// query and into nothing.
func bareChecks(b *testing.B, db *sql.DB) (n int) {
	b.Helper()
	rows, err := db.Query("SELECT * FROM checks")
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	cols, err := rows.Columns()
	if err != nil {
		b.Fatal(err)
	}
	vals, ptr := make([]any, len(cols)), make([]any, len(cols))
	for i := range vals {
		ptr[i] = &vals[i]
	}
	for rows.Next() {
		if err := rows.Scan(ptr...); err != nil {
			b.Fatal(err)
		}
		n++
	}
	if err := rows.Err(); err != nil {
		b.Fatal(err)
	}
	return n
}

// BenchmarkLoadBoard: every season of the board whole, beside a bare read of
// the same rows.
func BenchmarkLoadBoard(b *testing.B) {
	p := plant(b)
	ids := fillBoard(b, &p, boardTanks, boardDays)
	b.Run("bare", func(b *testing.B) {
		for b.Loop() {
			if n := bareChecks(b, p.reader); n != boardTanks*boardDays {
				b.Fatal(n)
			}
		}
	})
	b.Run("load", func(b *testing.B) {
		for b.Loop() {
			n := 0
			if err := p.LoadSeasons(b.Context(), ids,
				func(s *logbook.Season) error { n += len(s.Checks); return nil }); err != nil ||
				n != boardTanks*boardDays {
				b.Fatal(n, err)
			}
		}
	})
	b.Run("heads", func(b *testing.B) {
		for b.Loop() {
			if heads, err := p.SeasonHeads(b.Context(), SeasonFilter{}); err != nil || len(heads) != boardTanks+1 {
				b.Fatal(len(heads), err)
			}
		}
	})
	b.Run("one", func(b *testing.B) {
		for b.Loop() {
			if _, err := p.LoadSeason(b.Context(), ids[500]); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkSave: a check with everything that goes with it (the season of 150
// earlier checks given to the rules, flags, key), beside a bare commit of one
// row with the same settings. They take turns, so that a busy machine slows
// both; "x-bare" is the ratio of their sums.
func BenchmarkSave(b *testing.B) {
	for _, c := range []struct {
		name  string
		tanks int // 20 stay in memory, 400 are each loaded anew
		after After
	}{
		{"rules=none", 20, nil},
		{"rules=kept-season", 20, func(*logbook.Season, []Flag) ([]FlagChange, error) { return nil, nil }},
		{"rules=loaded-season", 400, func(*logbook.Season, []Flag) ([]FlagChange, error) { return nil, nil }},
	} {
		b.Run(c.name, func(b *testing.B) {
			p := plant(b)
			ids := fillBoard(b, &p, c.tanks, boardDays)
			if _, err := p.writer.Exec("CREATE TABLE bare (n INTEGER PRIMARY KEY, note TEXT NOT NULL) STRICT"); err != nil {
				b.Fatal(err)
			}
			var bare, save time.Duration
			i := 0
			for b.Loop() {
				t0 := time.Now()
				if _, err := p.writer.Exec("INSERT INTO bare (note) VALUES (?)", "a note"); err != nil {
					b.Fatal(err)
				}
				t1 := time.Now()
				v := p.check(day.AddDays(boardDays + i/len(ids)))
				v.SeasonID = ids[i%len(ids)]
				w := Write{Once: IdempotencyKey{Key: fmt.Sprint(i), Route: "r", Fingerprint: "f"}, After: c.after}
				if _, err := p.SaveCheck(b.Context(), coordinator, v, noon, w); err != nil {
					b.Fatal(err)
				}
				bare, save = bare+t1.Sub(t0), save+time.Since(t1)
				i++
			}
			b.ReportMetric(float64(save)/float64(bare), "x-bare")
			b.ReportMetric(float64(bare.Nanoseconds())/float64(i), "ns/bare")
		})
	}
}
