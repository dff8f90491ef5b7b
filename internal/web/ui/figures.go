package ui

import (
	"math"
	"strconv"
	"strings"

	"reddside/internal/i18n"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// Hundred are the dots of a hundred with what they say.
type Hundred struct {
	Words []string
	Dots  []Dot
	Keys  []ChartKey
	Alt   string
}

// FoodBars are the food of some days: an outline for the ration and a filled bar
// for what was given. The table beside it says the same in words.
type FoodBars struct {
	Label      string // what the picture shows, in a sentence
	Top        string // the highest value, with its unit
	From, To   string // first and last day
	Ration, Of string // words of the key
	Max        float64
	Days       []FoodBar
}

// FoodBar is one day; a negative value is not known.
type FoodBar struct {
	Ration, Given float64
	Held          bool
}

const (
	foodBarWide = 16.0 // of one day, in the units of the drawing
	foodBarHigh = 100.0
)

func (b FoodBars) box() string {
	return "0 0 " + foodNumber(foodBarWide*float64(len(b.Days))) + " " + foodNumber(foodBarHigh+2)
}

func foodNumber(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

// x is the left side of a bar of a day.
func (b FoodBars) x(day int, inset float64) string {
	return foodNumber(foodBarWide*float64(day) + inset)
}

// height is the height of a value.
func (b FoodBars) height(v float64) float64 {
	if b.Max <= 0 || v <= 0 {
		return 0
	}
	return foodBarHigh * v / b.Max
}

func (b FoodBars) y(v float64) string { return foodNumber(foodBarHigh + 1 - b.height(v)) }

// SparkScale is the temperature range that all sparklines of a page share.
type SparkScale struct{ Low, High units.Celsius }

// NewSparkScale returns the range of all given days, with the limits where they
// are known, widened to whole degrees and to at least four of them.
func NewSparkScale(rows [][]rules.DayTemperature, limits ...units.Optional[units.Celsius]) SparkScale {
	first := true
	var s SparkScale
	take := func(v units.Celsius) {
		if first {
			s, first = SparkScale{v, v}, false
		}
		s.Low, s.High = min(s.Low, v), max(s.High, v)
	}
	for _, row := range rows {
		for _, d := range row {
			if d.Value.OK {
				take(d.Value.V)
			}
		}
	}
	for _, l := range limits {
		if l.OK {
			take(l.V)
		}
	}
	s.Low, s.High = units.Celsius(math.Floor(float64(s.Low))), units.Celsius(math.Ceil(float64(s.High)))
	if s.High-s.Low < 4 {
		s.Low, s.High = s.Low-1, max(s.High+1, s.Low+3)
	}
	return s
}

// Sparkline is the temperature of some days, small. A day without one is a gap.
type Sparkline struct {
	Title string
	Range string // printed beside: lowest to highest, or "" without data
	Lines []string
	Dots  []SparkDot
	Last  *SparkDot
	Limit string // height of the limit line, "" when it is off the scale or not known
}

// SparkDot is one point of the drawing.
type SparkDot struct{ X, Y string }

const (
	sparkWidth  = 100.0
	sparkHeight = 28.0
	sparkEdge   = 3.0
)

// NewSparkline draws days, oldest first, on a common scale; limit is the upper
// edge of the safe range.
func NewSparkline(p *i18n.Printer, days []rules.DayTemperature, scale SparkScale,
	limit units.Optional[units.Celsius]) Sparkline {
	var s Sparkline
	y := func(v units.Celsius) float64 {
		span := max(float64(scale.High-scale.Low), 0.1)
		return sparkHeight - sparkEdge - (sparkHeight-2*sparkEdge)*float64(v-scale.Low)/span
	}
	if limit.OK && limit.V >= scale.Low && limit.V <= scale.High {
		s.Limit = Num(y(limit.V))
	}
	step := (sparkWidth - 2*sparkEdge) / float64(max(len(days)-1, 1))
	var run []SparkDot
	end := func() {
		switch len(run) {
		case 0:
		case 1:
			s.Dots = append(s.Dots, run[0])
		default:
			s.Lines = append(s.Lines, polyline(run))
		}
		run = nil
	}
	gaps := 0
	var low, high units.Optional[units.Celsius]
	for i, d := range days {
		if !d.Value.OK {
			gaps++
			end()
			continue
		}
		v := d.Value.V
		dot := SparkDot{Num(sparkEdge + float64(i)*step), Num(y(v))}
		run = append(run, dot)
		s.Last = &dot
		low, high = units.Some(min(low.Or(v), v)), units.Some(max(high.Or(v), v))
	}
	end()
	if !low.OK {
		s.Title = p.T("spark.none", map[string]any{"Count": len(days)})
		return s
	}
	s.Range = p.T("spark.range", map[string]any{"Low": p.TempNumber(low.V), "High": p.Temp(high.V)})
	s.Title = p.T("spark.title", map[string]any{"Days": len(days), "Range": s.Range, "Gaps": gaps})
	return s
}

func polyline(dots []SparkDot) string {
	parts := make([]string, len(dots))
	for i, d := range dots {
		parts[i] = d.X + "," + d.Y
	}
	return strings.Join(parts, " ")
}
