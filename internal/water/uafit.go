package water

import (
	"errors"
	"math"

	"reddside/internal/units"
)

// WarmingSample is one reading of a warming record: hours since any start, tank
// and room.
type WarmingSample struct {
	Hours      float64
	Tank, Room units.Celsius
}

// UAFit is a UA in W/K fitted to a warming record, with its 95 % confidence
// interval. Start is the fitted first temperature, ResidualSD the scatter of
// the readings about the curve in C.
type UAFit struct {
	UA, Low, High float64
	Start         units.Celsius
	ResidualSD    float64
	N             int
}

// Records that FitUA cannot use.
var (
	ErrTooFewReadings = errors.New("water: a warming record needs at least 5 readings")
	ErrReadingOrder   = errors.New("water: readings must come in order of time")
	ErrFlatRecord     = errors.New("water: the record does not warm enough to tell the UA")
)

// widestLogSE is the standard error of ln UA above which a fit is refused: the
// interval would span more than a factor of about 7.
const widestLogSE = 0.5

// FitUA fits the UA of a tank to readings taken with the chiller off, by least
// squares on Newton's law; the room may drift (linear between readings, taken
// as its mean). The interval assumes independent reading errors.
func FitUA(v units.Litres, heatW float64, samples []WarmingSample) (UAFit, error) {
	if err := firstOutside(volumeCheck(v), heatCheck(heatW)); err != nil {
		return UAFit{}, err
	}
	if len(samples) < 5 {
		return UAFit{}, ErrTooFewReadings
	}
	for i, s := range samples {
		err := firstOutside(check{"hours", s.Hours, -HoursHigh, HoursHigh, "h"}, tankCheck("tank_temperature", s.Tank),
			roomCheck(s.Room))
		if err != nil {
			return UAFit{}, err
		}
		if i > 0 && s.Hours <= samples[i-1].Hours {
			return UAFit{}, ErrReadingOrder
		}
	}
	r := record{volume: float64(v), heat: heatW, samples: samples}
	logUA, ok := r.best()
	if !ok {
		return UAFit{}, ErrFlatRecord
	}
	start, sse := r.profile(logUA)
	sd := math.Sqrt(sse / float64(len(samples)-2))
	se := r.standardError(logUA, start, sd)
	if !(se <= widestLogSE) {
		return UAFit{}, ErrFlatRecord
	}
	half := studentT975(len(samples)-2) * se
	return UAFit{
		UA: math.Exp(logUA), Low: math.Exp(logUA - half), High: math.Exp(logUA + half),
		Start: units.Celsius(start), ResidualSD: sd, N: len(samples),
	}, nil
}

type record struct {
	volume, heat float64
	samples      []WarmingSample
}

// curve returns, for each reading, the model as gain*start + offset: at a given
// UA it is linear in the first temperature.
func (r record) curve(logUA float64) (gain, offset []float64) {
	ua := math.Exp(logUA)
	tau := r.volume * WaterJPerKgK / ua / secondsPerHour
	gain, offset = make([]float64, len(r.samples)), make([]float64, len(r.samples))
	gain[0] = 1
	for i := 1; i < len(r.samples); i++ {
		a, b := r.samples[i-1], r.samples[i]
		end := float64(a.Room+b.Room)/2 + r.heat/ua
		left := math.Exp(-(b.Hours - a.Hours) / tau)
		gain[i] = gain[i-1] * left
		offset[i] = end*(1-left) + offset[i-1]*left
	}
	return gain, offset
}

// profile returns the best first temperature at a UA and the sum of squares.
func (r record) profile(logUA float64) (start, sse float64) {
	gain, offset := r.curve(logUA)
	var gy, gg float64
	for i, s := range r.samples {
		gy += gain[i] * (float64(s.Tank) - offset[i])
		gg += gain[i] * gain[i]
	}
	start = gy / gg
	for i, s := range r.samples {
		d := float64(s.Tank) - offset[i] - gain[i]*start
		sse += d * d
	}
	return start, sse
}

// best searches ln UA on a coarse grid, then by golden section. It fails when
// the best value is at an end of the grid.
func (r record) best() (float64, bool) {
	low, high := math.Log(UALow), math.Log(UAHigh)
	const steps = 160
	width := (high - low) / steps
	at, least := 0, math.Inf(1)
	for i := 0; i <= steps; i++ {
		if _, sse := r.profile(low + float64(i)*width); sse < least {
			at, least = i, sse
		}
	}
	if at == 0 || at == steps {
		return 0, false
	}
	a, b := low+float64(at-1)*width, low+float64(at+1)*width
	golden := (math.Sqrt(5) - 1) / 2
	c, d := b-golden*(b-a), a+golden*(b-a)
	_, fc := r.profile(c)
	_, fd := r.profile(d)
	for b-a > 1e-9 {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - golden*(b-a)
			_, fc = r.profile(c)
		} else {
			a, c, fc = c, d, fd
			d = a + golden*(b-a)
			_, fd = r.profile(d)
		}
	}
	return (a + b) / 2, true
}

// standardError returns the standard error of ln UA from the curve's slopes.
func (r record) standardError(logUA, start, sd float64) float64 {
	const h = 1e-4
	gain, _ := r.curve(logUA)
	g1, o1 := r.curve(logUA + h)
	g0, o0 := r.curve(logUA - h)
	var uu, us, ss float64
	for i := range gain {
		u := (g1[i]*start + o1[i] - g0[i]*start - o0[i]) / (2 * h)
		uu += u * u
		us += u * gain[i]
		ss += gain[i] * gain[i]
	}
	det := uu*ss - us*us
	if det <= 0 {
		return math.Inf(1)
	}
	return sd * math.Sqrt(ss/det)
}

// studentT975 is the 97.5 % point of Student's t for 3 or more degrees of
// freedom: Abramowitz & Stegun 26.7.5 (from memory, sure), right to 0.2 %.
func studentT975(df int) float64 {
	const z = 1.959963985
	n := float64(df)
	z2 := z * z
	g1 := z * (z2 + 1) / 4
	g2 := z * (3 + z2*(16+5*z2)) / 96
	g3 := z * (-15 + z2*(17+z2*(19+3*z2))) / 384
	g4 := z * (-945 + z2*(-1920+z2*(1482+z2*(776+79*z2)))) / 92160
	return z + g1/n + g2/(n*n) + g3/(n*n*n) + g4/(n*n*n*n)
}
