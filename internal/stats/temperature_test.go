package stats

import (
	"errors"
	"math"
	"testing"
)

func TestSeriesValidate(t *testing.T) {
	for name, s := range map[string]Series{
		"lengths":    {Days: []float64{1}, Celsius: nil},
		"backwards":  {Days: []float64{2, 1}, Celsius: []float64{9, 9}},
		"not finite": {Days: []float64{1}, Celsius: []float64{math.NaN()}},
	} {
		if err := s.Validate(); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A tie at 1.1 C is no drift (science notes S6: strictly greater).
func TestDriftTie(t *testing.T) {
	for _, c := range []struct {
		shift   float64
		flagged bool
	}{{1.1, false}, {-1.1, false}, {1.12, true}, {-1.12, true}} {
		var s Series
		for i := range 25 {
			v := 10.0
			if i >= 20 {
				v += c.shift
			}
			s.Days, s.Celsius = append(s.Days, float64(i)), append(s.Celsius, v)
		}
		if d := LastDrift(s); !d.Known || d.Flagged != c.flagged {
			t.Errorf("shift %v: %+v", c.shift, d)
		}
	}
}

// 20 lively readings, then one value for good. Pairs before the run: 20, none
// equal; Wilson's upper limit z2/(n+z2) = 1.6425/21.6425 = 0.07589, so k equal
// readings score (k-1)*1.1198: 4 of them 3.36, but the rule waits for 5.
func TestStuck(t *testing.T) {
	lively := make([]float64, 20)
	for i := range lively {
		lively[i] = 10 + 0.1*float64(i%2) + 0.2*float64(i%3)
	}
	for i := 1; i < len(lively); i++ {
		if same(lively[i], lively[i-1]) {
			t.Fatal("the lively readings repeat")
		}
	}
	for _, c := range []struct {
		run     int
		step    float64
		flagged bool
	}{{4, 0.1, false}, {5, 0.1, true}, {5, 0.5, true}, {4, 0.5, false}, {12, 1, false}} {
		x := append([]float64(nil), lively...)
		for range c.run {
			x = append(x, 12.3)
		}
		got := LastStuck(x, c.step)
		if got.Run != c.run || got.Flagged != c.flagged {
			t.Errorf("%+v: %+v", c, got)
		}
		z2 := 1.2816 * 1.2816
		near(t, "score", got.Score, -float64(c.run-1)*math.Log10(z2/(20+z2)), 1e-9)
	}
	if got := LastStuck(nil, 0.1); got.Run != 0 || got.Flagged {
		t.Errorf("no readings: %+v", got)
	}
}

func TestMisread(t *testing.T) {
	before := []float64{3, 10.4, 10.2, 10.3, 10.4, 10.4, 10.5, 10.4} // the 3 is too old to count
	for _, c := range []struct {
		reading, step   float64
		ask, fahrenheit bool
	}{
		{10.9, 0.1, false, false},
		{11.94, 0.1, false, false},
		{11.95, 0.1, true, false}, // 1.5 C and half a step
		{8.85, 0.1, true, false},
		{11.95, 1, false, false},
		{12.4, 1, true, false},
		{50.7, 0.1, true, true}, // 10.39 C
		{47, 0.1, true, false},  // 8.33 C, 2.07 below
	} {
		got := CheckMisread(before, c.reading, c.step)
		near(t, "usual", got.Usual, 10.4, 1e-9)
		if got.Ask != c.ask || got.Fahrenheit != c.fahrenheit {
			t.Errorf("%+v: %+v", c, got)
		}
	}
	if got := CheckMisread(nil, 50, 0.1); got.Ask {
		t.Errorf("first reading: %+v", got)
	}
}

func TestReadingStep(t *testing.T) {
	wave := func(step, scale, offset float64) []float64 {
		x := make([]float64, 40)
		for i := range x {
			raw := (10+2*math.Sin(float64(i)*1.7))*scale + offset
			c := (math.Round(raw/step)*step - offset) / scale
			x[i] = math.Round(c*100) / 100 // as stored by hand
		}
		return x
	}
	for _, c := range []struct {
		name string
		x    []float64
		want float64
	}{
		{"whole C", wave(1, 1, 0), 1},
		{"half C", wave(0.5, 1, 0), 0.5},
		{"fifth C", wave(0.2, 1, 0), 0.2},
		{"tenth C", wave(0.1, 1, 0), 0.1},
		{"whole F", wave(1, 1.8, 32), 1 / 1.8},
		{"tenth F", wave(0.1, 1.8, 32), 0.1 / 1.8},
		{"logger", wave(0.017, 1, 0), 0},
		{"constant", []float64{10, 10, 10, 10, 10, 10}, 0},
	} {
		near(t, c.name, ReadingStep(c.x), c.want, 1e-9)
	}
	slip := append(wave(0.5, 1, 0), 10.3)
	near(t, "one slip", ReadingStep(slip), 0.5, 1e-9)
}

// The 13.9 among readings near 10.2 is the only outlier (the same readings as
// the reference row median_mad).
func TestHampel(t *testing.T) {
	got := Hampel([]float64{10.2, 10.4, 10.1, 10.3, 13.9, 10.2, 10.3}, 6, 3)
	for i, out := range got {
		if out != (i == 4) {
			t.Errorf("reading %d: %v", i, out)
		}
	}
}

// Type 7 as in R: quantile(c(1, 2, 4, 8), c(.1, .5, .9)) is 1.3, 3, 6.8
// (arithmetic of the definition: positions 0.3, 1.5, 2.7).
func TestQuantileType7(t *testing.T) {
	x := []float64{8, 1, 4, 2}
	for p, want := range map[float64]float64{0: 1, 0.1: 1.3, 0.5: 3, 0.9: 6.8, 1: 8} {
		near(t, "quantile", Quantile(x, p), want, 1e-12)
	}
	if !math.IsNaN(Quantile(nil, 0.5)) || !math.IsNaN(Median(nil)) {
		t.Error("no values must give NaN")
	}
}

func TestTheilSenRefuses(t *testing.T) {
	if _, err := TheilSen([]float64{1, 1}, []float64{1, 2}, 0.95); !errors.Is(err, ErrInput) {
		t.Errorf("equal times: %v", err)
	}
	if _, err := TheilSen([]float64{1}, []float64{1}, 0.95); !errors.Is(err, ErrInput) {
		t.Errorf("one point: %v", err)
	}
}

// One far reading that is back at the next look is no drift, however far it pulls
// the mean of five; water that stays away is.
func TestOneFarReadingIsNoDrift(t *testing.T) {
	s := Series{}
	for d := range 30 {
		s.Days, s.Celsius = append(s.Days, float64(d)), append(s.Celsius, 7+0.1*float64(d%3))
	}
	s.Celsius[26] = 14
	if d := LastDrift(s); d.Flagged || d.Change < DriftLimitC {
		t.Errorf("a spike: %+v", d)
	}
	for i := 25; i < 30; i++ {
		s.Celsius[i] = 8.6
	}
	if d := LastDrift(s); !d.Flagged {
		t.Errorf("a drift: %+v", d)
	}
}
