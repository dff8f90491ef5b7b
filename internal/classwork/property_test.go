package classwork

import (
	"math/big"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

func drawDays(t *rapid.T, name string, end civil.Date) []Day {
	var out []Day
	for i := 24; i > 0; i-- {
		if rapid.IntRange(0, 3).Draw(t, name+" gap") == 0 {
			continue
		}
		v := rapid.IntRange(-10, 180).Draw(t, name)
		out = append(out, Day{On: end.AddDays(-i), Tenths: v, Units: max(0, v)})
	}
	return out
}

func drawFacts(t *rapid.T) Facts {
	f := Facts{Tank: logbook.ID(rapid.StringMatching(`[a-z0-9]{8}`).Draw(t, "tank")),
		Today: civil.MustParse("2026-01-01").AddDays(rapid.IntRange(0, 200).Draw(t, "day"))}
	f.Days = drawDays(t, "days", f.Today)
	if rapid.Bool().Draw(t, "two tanks") {
		f.OtherTank, f.Other = "B", drawDays(t, "other", f.Today)
	}
	f.Total = rapid.IntRange(0, 900).Draw(t, "total")
	if f.Started = rapid.IntRange(0, 400).Draw(t, "started"); f.Started > 0 {
		f.Alive = rapid.IntRange(0, f.Started).Draw(t, "alive")
	}
	return f
}

// near reports whether tenths is the nearest tenth to the exact sum/n/10: within
// half a tenth.
func near(tenths int, values []int) bool {
	exact := new(big.Rat)
	for _, v := range values {
		exact.Add(exact, big.NewRat(int64(v), 10))
	}
	exact.Quo(exact, big.NewRat(int64(len(values)), 1))
	off := exact.Sub(exact, big.NewRat(int64(tenths), 10))
	return off.Abs(off).Cmp(big.NewRat(1, 20)) <= 0
}

// Every question that is asked shows numbers of its own log, and its answer is
// what exact arithmetic says.
func TestEveryAnswerMatchesItsData(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFacts(t)
		for _, k := range Kinds() {
			for level := 1; level <= Levels; level++ {
				if q, ok := Ask(f, k, level); ok {
					checkNumbers(t, f, &q)
					checkAnswer(t, &q)
				}
			}
		}
	})
}

func checkNumbers(t *rapid.T, f Facts, q *Question) {
	for _, d := range q.Days {
		found := false
		for _, x := range f.Days {
			found = found || x == d
		}
		if !found || !d.On.Before(f.Today) || f.Today.Sub(d.On) > freshDays {
			t.Fatalf("%s %d shows %+v, which is not a recent day of the log", q.Kind, q.Level, d)
		}
	}
	for i, d := range q.Other {
		if q.Days[i].On != d.On {
			t.Fatalf("two tanks compared on %v and %v", q.Days[i].On, d.On)
		}
	}
	if q.Kind == Alive && (q.Whole != f.Started || q.Part != f.Alive) {
		t.Fatalf("asks about %d of %d, the log has %d of %d", q.Part, q.Whole, f.Alive, f.Started)
	}
}

func checkAnswer(t *rapid.T, q *Question) {
	a, bad := q.Answer, false
	switch q.Kind {
	case Mean:
		bad = !near(a.Tenths, tenths(q.Days))
	case Rate:
		// Count days are enough and one fewer is not; the target lies ahead.
		made, need := int64(a.Count*q.PerDay), int64(10*(q.Target-q.Total))
		bad = made < need || made-int64(q.PerDay) >= need || q.Target%50 != 0 || a.Count < 2 ||
			q.Level == Levels && !near(q.PerDay, dayUnits(q.Days))
	case Graph:
		above := 0
		for _, d := range q.Days {
			if d.Tenths > q.Line {
				above++
			}
			bad = bad || q.Level == 1 && d.On != a.On && a.Sign*(a.Tenths-d.Tenths) < 2
			bad = bad || q.Level == Levels && (d.Tenths > a.Value || d.Tenths < a.Value2)
		}
		bad = bad || q.Level == 2 && (above != a.Count || above == 0 || above == len(q.Days)) ||
			q.Level == Levels && a.Tenths != a.Value-a.Value2
	case Change:
		if q.Level == Levels {
			bad = !near(a.Value, tenths(q.Days[:3])) || !near(a.Value2, tenths(q.Days[3:]))
		} else {
			bad = a.Value != q.Days[0].Tenths || a.Value2 != q.Days[1].Tenths
		}
		bad = bad || a.Sign*a.Tenths != a.Value2-a.Value || a.Tenths < 0
	case Tanks:
		bad = !near(a.Value, tenths(q.Days)) || !near(a.Value2, tenths(q.Other)) || a.Sign*a.Tenths != a.Value-a.Value2
	case Alive:
		share := big.NewRat(int64(q.Part), int64(q.Whole)) // a Rat is in its simplest form
		switch q.Level {
		case 1:
			bad = a.Count+q.Gone != q.Whole
		case 2:
			off := new(big.Rat).Sub(share, big.NewRat(int64(a.Count), 100))
			bad = off.Abs(off).Cmp(big.NewRat(1, 200)) > 0
		default:
			bad = int64(a.Count) != share.Num().Int64() || int64(a.Of) != share.Denom().Int64()
		}
	case Sum:
		sum := 10 * q.Total
		for _, d := range q.Days {
			sum += d.Units
		}
		bad = sum != a.Tenths
	}
	if bad {
		t.Fatalf("wrong answer: %+v", *q)
	}
}

// The same day and tank ask the same, what is entered today changes nothing, no
// sheet asks the same thing twice, and it grows harder.
func TestChoiceIsSettledByDayAndTank(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFacts(t)
		one, two := Today(f), Today(f)
		if !reflect.DeepEqual(one, two) {
			t.Fatalf("%+v and %+v on the same day", one, two)
		}
		for _, sheet := range [][]Question{one, Worksheet(f)} {
			type what struct {
				Kind
				level int
			}
			seen := map[what]bool{}
			for i, q := range sheet {
				if w := (what{q.Kind, q.Level}); seen[w] {
					t.Fatalf("%v is asked twice", w)
				} else {
					seen[w] = true
				}
				if i > 0 && q.Level < sheet[i-1].Level {
					t.Fatal("a sheet grows easier")
				}
			}
		}
	})
}

// With a full log the kinds take turns: within as many days as there are kinds,
// each of them is asked, and a sheet holds five different ones.
func TestKindsTakeTurns(t *testing.T) {
	f := Facts{Tank: "a", Today: today, Days: days(61, 63, 60, 58, 61, 75, 71), Total: 412, Started: 200, Alive: 188,
		OtherTank: "Library", Other: days(52, 55, 50, 58, 60, 61, 59)}
	asked := map[Kind]bool{}
	for i := range Kinds() {
		f.Today = today.AddDays(i)
		q := Today(f)
		if len(q) != Levels {
			t.Fatalf("%d questions on day %d", len(q), i)
		}
		asked[q[0].Kind] = true
		kinds := map[Kind]bool{}
		for _, q := range Worksheet(f) {
			kinds[q.Kind] = true
		}
		if len(kinds) != Sheet {
			t.Errorf("a sheet of %d kinds on day %d", len(kinds), i)
		}
	}
	if len(asked) != len(Kinds()) {
		t.Errorf("%d kinds in %d days", len(asked), len(Kinds()))
	}
}
