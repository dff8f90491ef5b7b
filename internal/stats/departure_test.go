package stats

import (
	"math"
	"testing"
)

func looksFrom(want float64, celsius ...float64) []Look {
	out := make([]Look, len(celsius))
	for i, c := range celsius {
		out[i] = Look{Day: float64(i), Celsius: c, Want: want}
	}
	return out
}

// By hand: the first look 1.23 above the setpoint, spread 0.4 (nothing learnt, no
// step fits 8.23): 1.23/0.4 = 3.075 standard errors. Two looks a day apart, 0.83
// and 1.63 above: correlation 0.3, so the second tells 1.63-0.3*0.83 = 1.381 of an
// expected 2-0.3 = 1.7 (in units of the rise), weight 1/(1-0.09) = 1.098901;
// (0.83 + 1.7*1.381*1.098901)/sqrt(1 + 1.7^2*1.098901)/0.4 = 4.1717; from one look,
// 1.381/sqrt(0.91)/0.4 = 3.6192. Two looks are too few to call it a rise.
func TestDepartureByHand(t *testing.T) {
	near(t, "one look", JudgeDepartures(DefaultDepartureConfig(), looksFrom(7, 8.23))[0].Statistic, 3.075, 1e-6)
	got := JudgeDepartures(DefaultDepartureConfig(), looksFrom(7, 7.83, 8.63))[1]
	near(t, "two looks", got.Statistic, 4.1717, 1e-3)
	if got.Flag != DeadWatch || got.Since != 0 {
		t.Errorf("%+v", got)
	}
}

// A rise is act, a new level asks, back in range ends it; before days on which
// nobody looks the same readings are judged one step stricter.
func TestDepartureKinds(t *testing.T) {
	calm := []float64{7, 7.1, 6.9, 7, 7.1, 6.9, 7, 7.1, 7.03, 6.9, 7, 7.1}
	kinds := func(eve bool, more ...float64) (out []DeadFlag, last Departure) {
		looks := looksFrom(7, append(append([]float64{}, calm...), more...)...)
		looks[len(looks)-1].Eve = eve
		for _, d := range JudgeDepartures(DefaultDepartureConfig(), looks)[len(calm):] {
			out, last = append(out, d.Flag), d
		}
		return out, last
	}
	if got, _ := kinds(false, 7.5, 8, 8.5, 9, 9.5); got[2] < DeadWatch || got[4] != DeadAct {
		t.Errorf("rising half a degree a day: %v", got)
	}
	if got, last := kinds(false, 8.9, 9.03, 8.9, 9, 9.1, 8.9); got[0] != DeadWatch || last.Flag != DeadWatch ||
		last.Rising {
		t.Errorf("a new level: %v %+v", got, last)
	}
	if got, last := kinds(false, 5.1, 5, 5.1); last.Flag != DeadWatch || last.Away > -1.8 {
		t.Errorf("colder: %v %+v", got, last)
	}
	if got, _ := kinds(false, 11.9); got[0] != DeadAct {
		t.Errorf("4.9 above: %v", got)
	}
	if got, _ := kinds(false, 9, 9.1, 7.1); got[2] != DeadNone {
		t.Errorf("back in range: %v", got)
	}
	got, last := kinds(true, 10.43)
	if plain, _ := kinds(false, 10.43); plain[0] != DeadWatch || got[0] != DeadAct || !last.Stricter {
		t.Errorf("before closed days: %v %v", plain, got)
	}
}

// Whole degrees: a thermometer that always showed 7 and now shows 8 says little.
func TestDepartureKnowsTheStep(t *testing.T) {
	looks := looksFrom(7)
	for i := range 40 {
		looks = append(looks, Look{Day: float64(i), Celsius: 7, Want: 7})
	}
	looks = append(looks, Look{Day: 40, Celsius: 8, Want: 7})
	if d := JudgeDepartures(DefaultDepartureConfig(), looks)[40]; d.Flag != DeadNone {
		t.Errorf("%+v", d)
	}
	free := looksFrom(math.NaN(), 9, 9.1, 9, 8.9, 9.03, 9.1, 9, 13.1)
	if d := JudgeDepartures(DefaultDepartureConfig(), free)[7]; d.Flag != DeadAct {
		t.Errorf("no setpoint, 4.1 above the usual: %+v", d)
	}
}
