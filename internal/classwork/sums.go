package classwork

// tenths returns the temperatures of some days.
func tenths(days []Day) []int {
	out := make([]int, len(days))
	for i, d := range days {
		out[i] = d.Tenths
	}
	return out
}

// dayUnits returns the thermal units of some days.
func dayUnits(days []Day) []int {
	out := make([]int, len(days))
	for i, d := range days {
		out[i] = d.Units
	}
	return out
}

// SumOf adds up.
func SumOf(values []int) int {
	sum := 0
	for _, v := range values {
		sum += v
	}
	return sum
}

// MeanOf is the mean, rounded as in school: a half goes away from zero. It is 0
// for no values.
func MeanOf(values []int) int {
	if len(values) == 0 {
		return 0
	}
	return rounded(SumOf(values), len(values))
}

// rounded is a/b to a whole number, halves away from zero; b is above 0.
func rounded(a, b int) int {
	if a < 0 {
		return -rounded(-a, b)
	}
	return (2*a + b) / (2 * b)
}

// DaysUntil is how many whole days it takes from total to target at perDay
// tenths of a unit a day: a day that has begun counts. It is 0 when nothing is
// missing or nothing is gained.
func DaysUntil(total, target, perDay int) int {
	missing := 10 * (target - total)
	if missing <= 0 || perDay <= 0 {
		return 0
	}
	return (missing + perDay - 1) / perDay
}

// InHundred is part of whole as a number in a hundred, rounded as in school.
func InHundred(part, whole int) int {
	if whole <= 0 {
		return 0
	}
	return rounded(100*part, whole)
}

// Simplest is a fraction in its simplest form.
func Simplest(part, whole int) (a, b int) {
	x, y := part, whole
	for y != 0 {
		x, y = y, x%y
	}
	if x == 0 {
		return part, whole
	}
	return part / x, whole / x
}

// difference is how far b is from a, and which way.
func difference(a, b int) (size, sign int) {
	switch {
	case b > a:
		return b - a, 1
	case b < a:
		return a - b, -1
	}
	return 0, 0
}

// extremes are the coldest and the warmest of some days; each is alone when no
// other day comes within two tenths of it, so that it can be read off a chart.
func extremes(days []Day) (low, high Day, lowAlone, highAlone bool) {
	low, high = days[0], days[0]
	for _, d := range days {
		if d.Tenths < low.Tenths {
			low = d
		}
		if d.Tenths > high.Tenths {
			high = d
		}
	}
	lowAlone, highAlone = true, true
	for _, d := range days {
		if d.On != low.On && d.Tenths < low.Tenths+2 {
			lowAlone = false
		}
		if d.On != high.On && d.Tenths > high.Tenths-2 {
			highAlone = false
		}
	}
	return low, high, lowAlone, highAlone
}

// DaysAbove counts the days warmer than a line.
func DaysAbove(days []Day, line int) int {
	n := 0
	for _, d := range days {
		if d.Tenths > line {
			n++
		}
	}
	return n
}

// readableLine is a whole or half degree that parts the days, with no day so
// close that nobody could say on which side it is.
func readableLine(days []Day) (line int, ok bool) {
	low, high, _, _ := extremes(days)
	best := 0
	for l := low.Tenths/5*5 + 5; l < high.Tenths; l += 5 {
		clear := true
		for _, d := range days {
			if d.Tenths >= l-1 && d.Tenths <= l+1 {
				clear = false
			}
		}
		above := DaysAbove(days, l)
		// The line nearest to the middle of the days is the best question.
		if even := min(above, len(days)-above); clear && even > best {
			line, best = l, even
		}
	}
	return line, best > 0
}
