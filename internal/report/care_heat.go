package report

import (
	"errors"
	"math"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// Bounds of a warming stretch that tells something of a tank; all of them local
// choices.
const (
	stretchHours = 2.0
	stretchRise  = 1.0       // C from first to last reading
	stretchDip   = 0.15      // C below the warmest so far: the noise of a logger
	stretchFlat  = 0.1       // C within which the start counts as still held
	stretchGap   = time.Hour // longest time between two readings
	stretchMin   = 5         // readings
)

// Doubts of the heat flow; both are local choices. The shape of a tank, its lid
// and the foam's gaps are not known, so an estimate from its walls may be off by
// these factors; the room is taken to be known to one degree.
const (
	WallsLow  = 0.7
	WallsHigh = 1.6
	RoomDoubt = units.CelsiusDelta(1)
)

// Stretch is a part of a logger record in which the water only warmed.
type Stretch struct {
	From, To    time.Time
	First, Last units.Celsius
	Readings    []logbook.Reading
	PowerCut    bool // nothing ran in it, not even pumps
}

// Hours is the length of the stretch.
func (s Stretch) Hours() float64 { return s.To.Sub(s.From).Hours() }

// longestRise finds the longest stretch of at least two hours in which the
// good readings, in order of time, warm by a degree or more and never fall by
// more than a logger's noise. It is false when there is none.
func longestRise(readings []logbook.Reading) (Stretch, bool) {
	var good []logbook.Reading
	for _, r := range readings {
		if !r.At.IsZero() && r.Quality != logbook.Suspect && (len(good) == 0 || r.At.After(good[len(good)-1].At)) {
			good = append(good, r)
		}
	}
	var best Stretch
	for start := 0; start < len(good); {
		top, next := start, start+1
		for ; next < len(good) && good[next].At.Sub(good[next-1].At) <= stretchGap; next++ {
			t := good[next].Temperature
			if t < good[start].Temperature && top-start < stretchMin {
				start, top = next, next // not warming yet
				continue
			}
			if float64(t) < float64(good[top].Temperature)-stretchDip {
				break
			}
			if t > good[top].Temperature {
				top = next
			}
		}
		if s, ok := stretchOf(good[start : top+1]); ok && s.Hours() > best.Hours() {
			best = s
		}
		start = next
	}
	return best, len(best.Readings) > 0
}

// stretchOf cuts the flat beginning, where the chiller still held.
func stretchOf(rs []logbook.Reading) (Stretch, bool) {
	from := 0
	for i := range rs {
		if float64(rs[i].Temperature) <= float64(rs[0].Temperature)+stretchFlat {
			from = i
		}
	}
	rs = rs[from:]
	first, last := rs[0], rs[len(rs)-1]
	s := Stretch{From: first.At, To: last.At, First: first.Temperature, Last: last.Temperature, Readings: rs}
	return s, len(rs) >= stretchMin && s.Hours() >= stretchHours && float64(s.Last-s.First) >= stretchRise
}

// TankHeat is how fast heat comes into a tank, in W/K, with the bounds within
// which it is believed to lie. Fit is set when it was fitted to a record.
type TankHeat struct {
	UA, Low, High float64
	Fit           *water.UAFit
}

// HeatOfWalls estimates the heat flow of a tank from its volume and walls. The
// box has the proportions of a tank of 120 x 35 x 45 cm, with 10 mm glass and,
// when insulated, 25 mm of foam all round (common sizes, no source).
func HeatOfWalls(v units.Litres, wall logbook.Wall) (TankHeat, error) {
	const length, width, depth = 1200.0, 350.0, 450.0 // mm
	k := math.Cbrt(float64(v) * 1e6 / (length * width * depth))
	foam := units.Millimetres(0)
	if wall == logbook.Insulated {
		foam = 25
	}
	box := water.Box{Length: units.Millimetres(k * length), Width: units.Millimetres(k * width),
		Depth: units.Millimetres(k * depth)}
	ua, err := box.UA(water.Wall{Glass: 10, Foam: foam})
	return TankHeat{UA: ua, Low: ua * WallsLow, High: ua * WallsHigh}, err
}

// ErrHeatUnlike says that a fit lies far from what the walls of the tank let
// through, so that it was not the room that warmed it.
var ErrHeatUnlike = errors.New("report: the fitted heat flow is unlike that of the walls")

// HeatOfRecord fits the heat flow to a warming stretch in a room. The bounds
// hold the fit's own 95 % interval and a degree more or less in the room. A fit
// below half of the walls' low bound or above twice their high one (a local
// choice) is refused with ErrHeatUnlike.
func HeatOfRecord(v units.Litres, heatW float64, s Stretch, room units.Celsius, walls TankHeat) (TankHeat, error) {
	fit, err := FitStretch(v, heatW, s, func(time.Time) units.Celsius { return room })
	if err != nil {
		return TankHeat{}, err
	}
	if fit.UA < walls.Low/2 || fit.UA > 2*walls.High {
		return TankHeat{}, ErrHeatUnlike
	}
	h := TankHeat{UA: fit.UA, Low: fit.Low, High: fit.High, Fit: &fit}
	for _, d := range []units.CelsiusDelta{-RoomDoubt, RoomDoubt} {
		near := room + units.Celsius(d)
		if f, err := FitStretch(v, heatW, s, func(time.Time) units.Celsius { return near }); err == nil {
			h.Low, h.High = math.Min(h.Low, f.Low), math.Max(h.High, f.High)
		}
	}
	return h, nil
}

// FitStretch is water.FitUA over a stretch, with the room at each moment.
func FitStretch(v units.Litres, heatW float64, s Stretch, room func(time.Time) units.Celsius) (water.UAFit, error) {
	samples := make([]water.WarmingSample, len(s.Readings))
	for i, r := range s.Readings {
		samples[i] = water.WarmingSample{Hours: r.At.Sub(s.From).Hours(), Tank: r.Temperature, Room: room(r.At)}
	}
	return water.FitUA(v, heatW, samples)
}
