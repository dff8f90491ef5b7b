package forecast

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// SetpointInput is the body of calc/setpoint.
type SetpointInput struct {
	Species          logbook.Species    `json:"species"`
	On               civil.Date         `json:"on"`
	DevelopmentIndex float64            `json:"development_index"`
	SwimUpBy         civil.Date         `json:"swim_up_by"`
	Now              units.Celsius      `json:"now_c"`
	Min              units.Celsius      `json:"min_c"`
	Max              units.Celsius      `json:"max_c"`
	MaxStep          units.CelsiusDelta `json:"max_step_c_per_day"`
}

// SetpointResult is the answer of calc/setpoint. When Reachable is false the
// setpoint is the fastest safe one and Earliest the nearest possible date.
type SetpointResult struct {
	Setpoint          units.Celsius              `json:"setpoint_c"`
	P50               units.Optional[civil.Date] `json:"p50"`
	Earliest          units.Optional[civil.Date] `json:"earliest"`
	Latest            units.Optional[civil.Date] `json:"latest"`
	Unchanged         units.Optional[civil.Date] `json:"unchanged"`
	Reachable         bool                       `json:"reachable"`
	DaysPerHalfDegree float64                    `json:"days_per_half_degree"`
}

// CalcSetpoint answers calc/setpoint, with one safe range for all stages. Errors
// are *logbook.Error of kind Invalid with the fields of the body.
func CalcSetpoint(in SetpointInput) (SetpointResult, error) {
	safe := Range{Min: in.Min, Max: in.Max}
	p, err := Plan(PlanInput{Species: in.Species, On: in.On, Index: in.DevelopmentIndex, By: in.SwimUpBy, Now: in.Now,
		Eggs: safe, Alevins: safe, MaxStep: in.MaxStep})
	if err != nil {
		return SetpointResult{}, err
	}
	return SetpointResult{Setpoint: p.Setpoint, P50: dated(p.P50), Earliest: dated(p.Earliest), Latest: dated(p.Latest),
		Unchanged: dated(p.Unchanged), Reachable: p.Reachable, DaysPerHalfDegree: p.DaysPerHalfDegree}, nil
}
