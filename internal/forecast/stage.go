package forecast

import (
	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Places of the events on the development index (Crisp 1988, read: eyed at half the
// days to hatch, swim-up at 1.7 of them).
const (
	EyedIndex   = 0.5
	hatchIndex  = 1.0
	swimUpIndex = 1.7
)

// StageAt is the stage that a development index stands for when nothing else is
// known.
func StageAt(index float64) logbook.Stage {
	switch {
	case index >= swimUpIndex:
		return logbook.Fry
	case index >= hatchIndex:
		return logbook.Alevin
	case index >= EyedIndex:
		return logbook.EyedEgg
	}
	return logbook.GreenEgg
}

// passed reports whether half of the batch have most likely reached the event by the
// end of a day.
func (w *Window) passed(d civil.Date) bool {
	return w.BeforeStart || w.Ok() && !d.Before(w.P50)
}

// StageOn is the stage to expect on a day: the one whose window has most likely
// passed, so that a page never shows alevins beside a hatch to come. Without windows
// it is what the index of the day stands for; "" when the day has no index.
func (r *Result) StageOn(d civil.Date) logbook.Stage {
	if r.Hatch.Event == "" {
		if day := r.DayOn(d); day != nil {
			return StageAt(day.Index)
		}
		return ""
	}
	switch {
	case r.SwimUp.passed(d):
		return logbook.Fry
	case r.Hatch.passed(d):
		return logbook.Alevin
	case r.Eyed.passed(d):
		return logbook.EyedEgg
	}
	return logbook.GreenEgg
}

// Dying says that a stage does not live in the water that lies ahead of it.
type Dying struct {
	Eggs  bool          // else alevins
	Water units.Celsius // ahead
	biology.Bound
	Cold bool // too cold, not too warm
}

// dying looks at the water ahead of eggs until hatch, and of alevins from there to
// swim-up; nil when they can live.
func (r *Result) dying(dev biology.Development, green bool) *Dying {
	eggs, alevins := dev.EggsDieAt(), dev.AlevinsDieAt()
	cold, known := dev.EggsDieBelow()
	hatched := r.Hatch.BeforeStart || !r.Hatch.Observed.IsZero()
	for i := max(r.Today.Sub(r.StartOn), 0); i < len(r.Days); i++ {
		d := &r.Days[i]
		if measured(d.Source) {
			continue // it is past
		}
		egg := !hatched && (!r.Hatch.Ok() || !d.On.After(r.Hatch.P50))
		switch c := d.Temperature.V; {
		case egg && c >= eggs.At:
			return &Dying{Eggs: true, Water: c, Bound: eggs}
		case egg && green && known && c <= cold.At:
			return &Dying{Eggs: true, Water: c, Bound: cold, Cold: true}
		case c >= alevins.At && !r.SwimUp.BeforeStart && r.SwimUp.Observed.IsZero():
			return &Dying{Water: c, Bound: alevins}
		}
	}
	return nil
}

// Key is the catalogue key of what to say; Args are its values.
func (d *Dying) Key() string {
	switch {
	case d.Cold:
		return "forecast.note.eggs_die_cold"
	case d.Eggs:
		return "forecast.note.eggs_die"
	}
	return "forecast.note.alevins_die"
}

// Args are the values of the text.
func (d *Dying) Args() logbook.Args { return logbook.Args{"Temperature": d.Water, "Limit": d.At} }
