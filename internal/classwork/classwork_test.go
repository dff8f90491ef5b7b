package classwork

import (
	"testing"

	"reddside/internal/civil"
)

var today = civil.MustParse("2026-02-10")

// days ends at the day before today; units are the same as the temperature, as
// they are in degrees Celsius above 0.
func days(tenths ...int) []Day {
	var out []Day
	for i, t := range tenths {
		out = append(out, Day{On: today.AddDays(i - len(tenths)), Tenths: t, Units: t})
	}
	return out
}

func on(s string) civil.Date { return civil.MustParse(s) }

// The answers were worked out by hand, as a pupil would; the working stands
// beside each.
func TestAnswersWorkedByHand(t *testing.T) {
	week := days(61, 63, 60, 68, 72, 70, 71) // 3 to 9 February
	f := Facts{Tank: "a", Today: today, Days: week, Total: 412, Started: 200, Alive: 188,
		OtherTank: "Library", Other: days(52, 55, 50, 58, 60, 61, 59)}
	gaps := f
	gaps.Days = append([]Day{{On: on("2026-01-30"), Tenths: 62, Units: 62}}, week[3:]...)
	cold := f
	cold.Days = days(-4, 2, 0, -1, 1)
	for i := range cold.Days {
		cold.Days[i].Units = max(0, cold.Days[i].Tenths)
	}
	for _, x := range []struct {
		name  string
		f     Facts
		kind  Kind
		level int
		want  Answer
	}{
		// 7.2 + 7.0 + 7.1 = 21.3; 21.3 / 3 = 7.1
		{"mean of 3", f, Mean, 1, Answer{Sum: 213, Tenths: 71}},
		// 6.0 + 6.8 + 7.2 + 7.0 + 7.1 = 34.1; 34.1 / 5 = 6.82, about 6.8
		{"mean of 5", f, Mean, 2, Answer{Sum: 341, Tenths: 68}},
		// 6.1 + 6.3 + 6.0 + 6.8 + 7.2 + 7.0 + 7.1 = 46.5; 46.5 / 7 = 6.642..., about 6.6
		{"mean of 7", f, Mean, 3, Answer{Sum: 465, Tenths: 66}},
		// -0.4 + 0.2 + 0 - 0.1 + 0.1 = -0.2; -0.2 / 5 = -0.04, about 0.0
		{"mean about 0", cold, Mean, 2, Answer{Sum: -2, Tenths: 0}},
		// 6.2 + 6.8 + 7.2 + 7.0 + 7.1 = 34.3; 34.3 / 5 = 6.86, about 6.9
		{"mean with a gap", gaps, Mean, 2, Answer{Sum: 343, Tenths: 69}},
		// Mean of 6.0 6.8 7.2 7.0 7.1 is 6.8, about 7 a day. From 412 past 426 the next
		// fifty is 450: 38 to go; 7, 14, 21, 28, 35, 42: on the 6th day.
		{"rate, whole", f, Rate, 1, Answer{Value: 38, Count: 6}},
		// 6.8, 13.6, 20.4, 27.2, 34.0, 40.8: on the 6th day.
		{"rate, tenths", f, Rate, 2, Answer{Value: 38, Count: 6}},
		// 6.0 + 6.8 + 7.2 + 7.0 + 7.1 = 34.1, as above
		{"rate, found first", f, Rate, 3, Answer{Sum: 341, Value: 38, Count: 6}},
		// 7.2 on 7 February is the highest, but 7.1 is too near to read off; 6.0 on
		// 5 February is the lowest, and 6.1 is too near as well.
		// So the charts of these two have one clear top, and one clear bottom.
		{"graph, clear top", Facts{Today: today, Days: days(61, 63, 60, 75, 70)}, Graph, 1,
			Answer{On: on("2026-02-08"), Tenths: 75, Sign: 1}},
		{"graph, clear bottom", Facts{Today: today, Days: days(61, 58, 63, 70, 70)}, Graph, 1,
			Answer{On: on("2026-02-06"), Tenths: 58, Sign: -1}},
		// Lines at 6.5 and 7.0 part the week; 7.0 lies on a day. Above 6.5: 6.8 7.2 7.0 7.1.
		{"graph, line", f, Graph, 2, Answer{Count: 4}},
		// 7.2 - 6.0 = 1.2
		{"graph, span", f, Graph, 3, Answer{Value: 72, Value2: 60, Tenths: 12, Sign: 1}},
		// 7.1 - 7.0 = 0.1 warmer
		{"change, a day", f, Change, 1, Answer{Value: 70, Value2: 71, Tenths: 1, Sign: 1}},
		// 4 February 6.3, 9 February 7.1: 0.8 warmer
		{"change, five days", f, Change, 2, Answer{Value: 63, Value2: 71, Tenths: 8, Sign: 1}},
		// (6.3 + 6.0 + 6.8) / 3 = 19.1 / 3 = 6.37, about 6.4; (7.2 + 7.0 + 7.1) / 3 = 7.1; 0.7 warmer
		{"change, means", f, Change, 3, Answer{Value: 64, Value2: 71, Tenths: 7, Sign: 1}},
		// From -0.1 to 0.1: 0.2 warmer
		{"change about 0", cold, Change, 1, Answer{Value: -1, Value2: 1, Tenths: 2, Sign: 1}},
		// 200 - 12 = 188
		{"alive", f, Alive, 1, Answer{Count: 188}},
		// 188 of 200 is 94 of 100
		{"alive of 100", f, Alive, 2, Answer{Count: 94}},
		// 188/200 = 94/100 = 47/50
		{"fraction alive", f, Alive, 3, Answer{Count: 47, Of: 50}},
		// 7.1 - 5.9 = 1.2 warmer than the library
		{"tanks", f, Tanks, 1, Answer{Value: 71, Value2: 59, Tenths: 12, Sign: 1}},
		// 7.1 as above; (6.0 + 6.1 + 5.9) / 3 = 18.0 / 3 = 6.0; 1.1 warmer
		{"tanks, 3 days", f, Tanks, 2, Answer{Value: 71, Value2: 60, Tenths: 11, Sign: 1}},
		// 6.8 as above; (5.0 + 5.8 + 6.0 + 6.1 + 5.9) / 5 = 28.8 / 5 = 5.76, about 5.8; 1.0 warmer
		{"tanks, 5 days", f, Tanks, 3, Answer{Value: 68, Value2: 58, Tenths: 10, Sign: 1}},
		// 7.0 + 7.1 = 14.1
		{"sum of 2", f, Sum, 1, Answer{Tenths: 141}},
		// 412 - 7.1 = 404.9, about 405; 405 + 7.1 = 412.1
		{"sum so far", f, Sum, 2, Answer{Tenths: 4121}},
		// 34.1 as above
		{"sum of 5", f, Sum, 3, Answer{Tenths: 341}},
	} {
		q, ok := Ask(x.f, x.kind, x.level)
		if !ok {
			t.Errorf("%s: not asked", x.name)
			continue
		}
		if q.Answer != x.want {
			t.Errorf("%s: answer %+v, by hand %+v", x.name, q.Answer, x.want)
		}
	}
}

// What the log does not hold is not asked.
func TestNoQuestionWithoutItsNumbers(t *testing.T) {
	week := days(61, 63, 60, 68, 72, 70, 71)
	for _, x := range []struct {
		name  string
		f     Facts
		kind  Kind
		level int
	}{
		{"no days", Facts{Today: today}, Mean, 1},
		{"two days for three", Facts{Today: today, Days: week[5:]}, Mean, 1},
		{"six days for seven", Facts{Today: today, Days: week[1:]}, Mean, 3},
		{"old days", Facts{Today: today.AddDays(13), Days: week[4:]}, Mean, 1},
		{"total not known", Facts{Today: today, Days: week}, Rate, 1},
		{"frozen", Facts{Today: today, Days: days(1, 2, 1, 0, 1), Total: 300}, Rate, 2},
		{"four days on a chart", Facts{Today: today, Days: week[3:]}, Graph, 1},
		{"no clear top or bottom", Facts{Today: today, Days: week}, Graph, 1},
		{"nothing to part", Facts{Today: today, Days: days(70, 70, 70, 70, 70)}, Graph, 2},
		{"only days on lines", Facts{Today: today, Days: days(60, 65, 70, 75, 80)}, Graph, 2},
		{"one day", Facts{Today: today, Days: week[6:]}, Change, 1},
		{"account open", Facts{Today: today, Days: week}, Alive, 2},
		{"nobody died", Facts{Today: today, Started: 200, Alive: 200}, Alive, 1},
		{"simplest already", Facts{Today: today, Started: 200, Alive: 199}, Alive, 3},
		{"no other tank", Facts{Today: today, Days: week}, Tanks, 1},
		{"no day in common", Facts{Today: today, Days: week[:3], OtherTank: "B", Other: week[4:]}, Tanks, 1},
		{"total not known", Facts{Today: today, Days: week}, Sum, 2},
		{"level 0", Facts{Today: today, Days: week}, Mean, 0},
		{"level 4", Facts{Today: today, Days: week}, Mean, 4},
		{"no such kind", Facts{Today: today, Days: week}, "luck", 1},
	} {
		if q, ok := Ask(x.f, x.kind, x.level); ok {
			t.Errorf("%s: asked %+v", x.name, q)
		}
	}
	if q := Today(Facts{Today: today, Tank: "a"}); len(q) != 0 {
		t.Errorf("an empty log asks %+v", q)
	}
}

// The lowest terms and the days to a target, by hand.
func TestSums(t *testing.T) {
	for _, x := range []struct{ part, whole, a, b int }{{50, 200, 1, 4}, {7, 7, 1, 1}, {0, 9, 0, 1}, {9, 10, 9, 10}} {
		if a, b := Simplest(x.part, x.whole); a != x.a || b != x.b {
			t.Errorf("%d of %d is %d of %d, want %d of %d", x.part, x.whole, a, b, x.a, x.b)
		}
	}
	for _, x := range []struct{ total, target, perDay, want int }{
		{400, 450, 50, 10}, // 5 a day: 50 / 5
		{400, 450, 51, 10}, // 9.8 days: on the 10th
		{400, 450, 49, 11}, // 10.2 days: on the 11th
		{450, 450, 70, 0}, {400, 450, 0, 0},
	} {
		if got := DaysUntil(x.total, x.target, x.perDay); got != x.want {
			t.Errorf("from %d to %d at %d tenths: %d days, want %d", x.total, x.target, x.perDay, got, x.want)
		}
	}
	// Halves go away from zero: 0.25 is 0.3, and -0.25 is -0.3.
	if a, b := MeanOf([]int{2, 3}), MeanOf([]int{-2, -3}); a != 3 || b != -3 {
		t.Errorf("means of halves: %d, %d", a, b)
	}
	if got := InHundred(1, 3); got != 33 {
		t.Errorf("1 of 3 is %d of 100", got)
	}
}
