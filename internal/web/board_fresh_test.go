package web

import (
	"context"
	"errors"
	"log/slog"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// After any row of writes, undone ones too, and on any day, the board that is kept
// is the board that a program shows which has just started.
func TestKeptBoardIsFresh(t *testing.T) {
	ctx := context.Background()
	seen, refused := 0, errors.New("refused")
	rapid.Check(t, func(rt *rapid.T) {
		ts := newTestServer(t)
		other, err := store.Open(ctx, filepath.Dir(ts.DB.Path()), store.Options{Now: testNow, Scratch: true})
		ts.must(err)
		defer func() { _ = other.Close() }()
		now := testNow
		seasons := []*logbook.Season{ts.one, ts.two, ts.far}
		for range rapid.IntRange(1, 12).Draw(rt, "writes") {
			op := rapid.IntRange(0, 10).Draw(rt, "op")
			season := ts.load(rapid.SampledFrom(seasons).Draw(rt, "tank"))
			after, err := ts.Assess.FlagsAfter(ctx, season, now)
			ts.must(err)
			today := ts.Assess.Today(season.Site, now)
			c := logbook.Check{SeasonID: season.ID, On: today.AddDays(-rapid.IntRange(0, 12).Draw(rt, "ago")),
				Slot: logbook.Morning, Time: "09:00",
				Temperature:        units.Some(units.Celsius(rapid.IntRange(5, 14).Draw(rt, "temperature"))),
				TemperatureEntered: "7", TemperatureUnit: units.Cel,
				Stage: logbook.EyedEgg, Hatched: rapid.SampledFrom([]logbook.Hatched{"", logbook.HatchedNone,
					logbook.HatchedFew, logbook.HatchedHalf}).Draw(rt, "hatched"),
				DeadEggs: units.Some(rapid.IntRange(0, 9).Draw(rt, "dead"))}
			switch op {
			case 0, 1, 2:
				_, err = ts.DB.SaveCheck(ctx, ts.coordinator, c, now, store.Write{After: after})
			case 3: // a write of which nothing stays, though it was judged
				_, err = ts.DB.SaveCheck(ctx, ts.coordinator, c, now,
					store.Write{After: func(s *logbook.Season, open []store.Flag) ([]store.FlagChange, error) {
						_, _ = after(s, open)
						return nil, refused
					}})
			case 4: // without a judgement
				_, err = ts.DB.SaveCheck(ctx, ts.coordinator, c, now, store.Write{})
			case 5:
				now = now.Add(24 * time.Hour)
			case 6:
				tank := season.Tank
				tank.Name += "'"
				_, err = ts.DB.UpdateTank(ctx, ts.coordinator, tank, now)
			case 7:
				lot := season.Lot
				lot.FertilisedOn = lot.FertilisedOn.AddDays(-1)
				_, err = ts.DB.UpdateLot(ctx, ts.coordinator, lot, now)
			case 8:
				var flags []store.Flag
				flags, err = ts.DB.Flags(ctx, season.ID, true)
				ts.must(err)
				if len(flags) > 0 {
					_, err = ts.DB.SeeFlag(ctx, ts.coordinator, flags[0].ID, now)
				}
			case 9:
				if season.ClosedOn.IsZero() {
					season.ClosedOn = today
				} else {
					season.ClosedOn = civil.Date{}
				}
				_, err = ts.DB.UpdateSeason(ctx, ts.coordinator, *season, now)
			case 10:
				if len(season.Checks) > 0 {
					old := season.Checks[0]
					_, err = ts.DB.VoidCheck(ctx, ts.coordinator, old.ID, old.Revision, "typed twice", now, after)
				}
			}
			if err != nil && logbook.KindOf(err) != logbook.Conflict && !errors.Is(err, refused) {
				rt.Fatal(op, err)
			}
			if rapid.IntRange(0, 2).Draw(rt, "not looked at") == 0 {
				continue
			}
			actor := rapid.SampledFrom([]logbook.Actor{ts.coordinator, ts.keeper}).Draw(rt, "who")
			got, err := ts.Assess.BoardEntries(ctx, actor, now)
			ts.must(err)
			want, err := assess.New(other, ts.clockAt, slog.Default()).BoardEntries(ctx, actor, now)
			ts.must(err)
			if !reflect.DeepEqual(got, want) {
				rt.Fatalf("after %d the kept board is\n%+v\nand a fresh one\n%+v", op, values(got), values(want))
			}
			seen += len(got)
		}
	})
	if seen == 0 {
		t.Error("no board was compared")
	}
}

func values(all []*assess.BoardEntry) (out []assess.BoardEntry) {
	for _, e := range all {
		out = append(out, *e)
	}
	return out
}
