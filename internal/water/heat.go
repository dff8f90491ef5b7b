package water

import (
	_ "embed"
	"math"

	"reddside/internal/units"
)

// Physical constants of the heat calculators.
const (
	WaterJPerKgK   = 4186.0 // 1 L is taken as 1 kg
	BTUPerHourPerW = 3.412
	WattsPerTon    = 3517.0 // US ton of refrigeration
	secondsPerHour = 3600.0
	UALow, UAHigh  = 0.001, 10000.0 // W/K
	RoomLow        = -40.0          // C
	RoomHigh       = 60.0
	TankLow        = 0.0 // the model knows no ice in the tank
	TankHigh       = 50.0
	HeatHighW      = 10000.0
	HoursHigh      = 10000.0
)

func uaCheck(ua float64) check { return check{"ua", ua, UALow, UAHigh, "W/K"} }

func tankCheck(name string, t units.Celsius) check {
	return check{name, float64(t), TankLow, TankHigh, "Cel"}
}

func roomCheck(t units.Celsius) check {
	return check{"room_temperature", float64(t), RoomLow, RoomHigh, "Cel"}
}

func heatCheck(w float64) check { return check{"heat", w, 0, HeatHighW, "W"} }

// Warming is a tank whose chiller is off: Newton's law with the room on the
// outside and pumps and lamps as heat. Stone, gravel and glass hold a few per
// cent more heat than the water alone, so the tank is a little slower.
type Warming struct {
	Volume units.Litres
	UA     float64 // W/K through all walls, bottom and lid
	Tank   units.Celsius
	Room   units.Celsius
	HeatW  float64 // W put into the water; 0 when the power is out
}

func (w Warming) check() error {
	return firstOutside(volumeCheck(w.Volume), uaCheck(w.UA),
		tankCheck("tank_temperature", w.Tank), roomCheck(w.Room), heatCheck(w.HeatW))
}

func (w Warming) tau() float64 {
	return float64(w.Volume) * WaterJPerKgK / w.UA / secondsPerHour
}

func (w Warming) end() float64 { return float64(w.Room) + w.HeatW/w.UA }

// TimeConstant returns the hours in which 63 % of the way to the end is made.
func (w Warming) TimeConstant() (float64, error) {
	if err := w.check(); err != nil {
		return 0, err
	}
	return w.tau(), nil
}

// After returns the tank's temperature after hours, 0 to 10000. A result that
// is no liquid tank (below 0 or above 50 C) is refused: the model does not hold
// there.
func (w Warming) After(hours float64) (units.Celsius, error) {
	if err := w.check(); err != nil {
		return 0, err
	}
	if err := units.CheckRange("hours", hours, 0, HoursHigh, "h"); err != nil {
		return 0, err
	}
	t := w.end() + (float64(w.Tank)-w.end())*math.Exp(-hours/w.tau())
	if err := units.CheckRange("temperature_after", t, TankLow, TankHigh, "Cel"); err != nil {
		return 0, err
	}
	return units.Celsius(t), nil
}

// HoursToLimit returns the hours until the tank reaches a limit, absent when it
// never does. A limit at or above the tank is a ceiling. A limit below it is a
// floor when the tank is cooling, and a ceiling already passed (0 hours) when
// it is warming.
func (w Warming) HoursToLimit(limit units.Celsius) (units.Optional[float64], error) {
	never := units.None[float64]()
	if err := w.check(); err != nil {
		return never, err
	}
	if err := firstOutside(tankCheck("limit", limit)); err != nil {
		return never, err
	}
	start, end, l := float64(w.Tank), w.end(), float64(limit)
	warming := end >= start
	switch {
	case l == start, l < start && warming:
		return units.Some(0.0), nil
	case l > start && end <= l, l < start && end >= l:
		return never, nil
	}
	return units.Some(w.tau() * math.Log((end-start)/(end-l))), nil
}

// ChillerHold returns the watts that hold the water at a temperature against a
// room and the heat of pumps; 0 when the room is cold enough. Choose a chiller
// well above it, so that it can rest (from memory).
func ChillerHold(ua float64, water, room units.Celsius, heatW float64) (float64, error) {
	err := firstOutside(uaCheck(ua), tankCheck("tank_temperature", water), roomCheck(room), heatCheck(heatW))
	if err != nil {
		return 0, err
	}
	return math.Max(0, ua*float64(room-water)+heatW), nil
}
