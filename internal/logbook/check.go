package logbook

import (
	"slices"
	"time"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Slot tells several checks of one tank on one day apart.
type Slot string

// The morning check is the daily one; the others are extra looks.
const Morning Slot = "morning"

// Slots lists the slots of a day, in order.
func Slots() []Slot { return []Slot{Morning, "extra", "extra_2", "extra_3", "extra_4"} }

// Order returns the place of the slot in the day from 0, or -1 when unknown.
func (s Slot) Order() int {
	for i, k := range Slots() {
		if s == k {
			return i
		}
	}
	return -1
}

// Equipment is the state of a chiller, filter or air pump as seen. The empty
// value means that nothing was said, which is not the same as NotChecked.
type Equipment string

// What can be said of a piece of equipment.
const (
	Running    Equipment = "running"
	Stopped    Equipment = "stopped"
	NotChecked Equipment = "not_checked"
	NotFitted  Equipment = "not_fitted"
)

// Hatched is how many of the eggs have hatched, as seen.
type Hatched string

// How many have hatched.
const (
	HatchedNone Hatched = "none"
	HatchedFew  Hatched = "few"
	HatchedHalf Hatched = "half"
	HatchedMost Hatched = "most"
	HatchedAll  Hatched = "all"
)

// Water is the look of the water.
type Water string

// Looks of the water.
const (
	WaterClear  Water = "clear"
	WaterCloudy Water = "cloudy"
	WaterFoam   Water = "foam"
	WaterFilm   Water = "film"
)

// Observation is a yes-or-no look; empty means that nothing was said.
type Observation string

// Sightings.
const (
	Seen    Observation = "seen"
	NotSeen Observation = "not_seen"
)

// DeadCause is what the dead of a check died of, as somebody saw it; empty means
// that nothing was said.
type DeadCause string

// The causes.
const (
	CauseFungus     DeadCause = "fungus"
	CauseWarmWater  DeadCause = "warm_water" // a chiller or the power failed
	CauseBadWater   DeadCause = "bad_water"  // ammonia, chlorine, too little oxygen
	CauseHandling   DeadCause = "handling"
	CauseNotFeeding DeadCause = "not_feeding"
	CauseUnknown    DeadCause = "unknown"
)

// DeadCauses lists the causes in the order of choice lists.
func DeadCauses() []DeadCause {
	return []DeadCause{CauseFungus, CauseWarmWater, CauseBadWater, CauseHandling, CauseNotFeeding, CauseUnknown}
}

// MessageKey returns the catalogue key of the cause.
func (c DeadCause) MessageKey() string { return "dead_cause." + string(c) }

// Check is one look at a tank on a civil date and slot. Absent values were not
// observed; they are never 0.
type Check struct {
	ID       ID
	SeasonID ID
	On       civil.Date
	Slot     Slot
	Time     string // HH:MM on the wall, or empty

	Temperature        units.Optional[units.Celsius]
	TemperatureEntered string                // as typed
	TemperatureUnit    units.TemperatureUnit // of what was typed

	Chiller Equipment
	Filter  Equipment
	AirPump Equipment

	DeadEggs    units.Optional[int]
	DeadAlevins units.Optional[int]
	DeadFry     units.Optional[int]
	DeadCause   DeadCause // of the dead of this check, where somebody noted it

	Stage   Stage
	Hatched Hatched
	Water   Water
	Fungus  Observation // white fuzz on eggs

	PH       units.Optional[float64]
	TAN      units.Optional[units.MgPerL] // total ammonia, as N
	Nitrite  units.Optional[units.MgPerL] // as N
	Nitrate  units.Optional[units.MgPerL] // as N
	Oxygen   units.Optional[units.MgPerL]
	Chlorine units.Optional[units.MgPerL] // total, free and bound, as Cl2
	// Alkalinity is as CaCO3.
	Alkalinity units.Optional[units.MgPerL]
	Fed        units.Optional[units.Grams]
	Note       string
	Observer   string // a group or role, like "Group 3"; never a name

	Confirmed []string // fields whose surprising value a person confirmed
	Entry
}

// equipmentStates are what can be said of equipment, in the order of choice lists.
var equipmentStates = []Equipment{Running, Stopped, NotChecked, NotFitted}

var checkFields = []Field[Check]{
	{Name: "on", access: date(func(c *Check) *civil.Date { return &c.On }), Must: true, Aside: true, Column: "on_date",
		About: "day at the site", Term: dwc + "eventDate"},
	{Name: "slot", access: choice(Slots(), func(c *Check) *Slot { return &c.Slot }),
		Aside: true, Wrong: "check.slot", About: "morning or an extra check"},
	{Name: "time", access: clock(func(c *Check) *string { return &c.Time }), Aside: true, Column: "local_time",
		About: "time on the wall", Term: dwc + "eventTime"},
	{Name: "temperature", access: temperature(), CSV: "temperature_c", Unit: "Cel", About: "water temperature"},
	{Name: "temperature_entered", access: text(func(c *Check) *string { return &c.TemperatureEntered }),
		Aside: true, Kept: true, About: "as it was typed"},
	{Name: "temperature_unit", access: text(func(c *Check) *units.TemperatureUnit { return &c.TemperatureUnit }),
		Aside: true, Kept: true, About: "unit of what was typed (UCUM)"},
	{Name: "chiller", access: choice(equipmentStates, func(c *Check) *Equipment { return &c.Chiller }),
		About: "running, stopped, not_checked or not_fitted"},
	{Name: "filter", access: choice(equipmentStates, func(c *Check) *Equipment { return &c.Filter }),
		About: "as chiller"},
	{Name: "air_pump", access: choice(equipmentStates, func(c *Check) *Equipment { return &c.AirPump }),
		About: "as chiller"},
	{Name: "dead_eggs", access: whole(func(c *Check) *units.Optional[int] { return &c.DeadEggs }),
		JSON: "dead.eggs", Unit: "1", About: "dead eggs removed"},
	{Name: "dead_alevins", access: whole(func(c *Check) *units.Optional[int] { return &c.DeadAlevins }),
		JSON: "dead.alevins", Unit: "1", About: "dead alevins removed"},
	{Name: "dead_fry", access: whole(func(c *Check) *units.Optional[int] { return &c.DeadFry }),
		JSON: "dead.fry", Unit: "1", About: "dead fry removed"},
	{Name: "dead_cause", access: choice(DeadCauses(), func(c *Check) *DeadCause { return &c.DeadCause }), Aside: true,
		About: "what the dead of the check died of, as seen"},
	{Name: "stage", access: choice(Stages(), func(c *Check) *Stage { return &c.Stage }),
		About: "stage of life", Term: dwc + "lifeStage"},
	{Name: "hatched", access: choice([]Hatched{HatchedNone, HatchedFew, HatchedHalf, HatchedMost, HatchedAll},
		func(c *Check) *Hatched { return &c.Hatched }), About: "how many have hatched"},
	{Name: "water", access: choice([]Water{WaterClear, WaterCloudy, WaterFoam, WaterFilm},
		func(c *Check) *Water { return &c.Water }),
		About: "look of the water"},
	{Name: "fungus", access: choice([]Observation{NotSeen, Seen}, func(c *Check) *Observation { return &c.Fungus }),
		About: "white fuzz on eggs"},
	{Name: "ph", access: number(func(c *Check) *units.Optional[float64] { return &c.PH }),
		Max: MaxPH, Test: true, Unit: "[pH]", About: "pH"},
	{Name: "tan_mg_l", access: number(func(c *Check) *units.Optional[units.MgPerL] { return &c.TAN }),
		Max: MaxMgPerL, Test: true, Unit: "mg/L", About: "total ammonia as N"},
	{Name: "nitrite_mg_l", access: number(func(c *Check) *units.Optional[units.MgPerL] { return &c.Nitrite }),
		Max: MaxMgPerL, Test: true, Unit: "mg/L", About: "nitrite as N"},
	{Name: "nitrate_mg_l", access: number(func(c *Check) *units.Optional[units.MgPerL] { return &c.Nitrate }),
		Max: MaxMgPerL, Test: true, Unit: "mg/L", About: "nitrate as N"},
	{Name: "oxygen_mg_l", access: number(func(c *Check) *units.Optional[units.MgPerL] { return &c.Oxygen }),
		Max: MaxOxygen, Test: true, Unit: "mg/L", About: "dissolved oxygen"},
	{Name: "chlorine_mg_l", access: number(func(c *Check) *units.Optional[units.MgPerL] { return &c.Chlorine }),
		Max: MaxChlorine, Test: true, Unit: "mg/L", About: "total chlorine as Cl2"},
	{Name: "alkalinity_mg_l", access: number(func(c *Check) *units.Optional[units.MgPerL] { return &c.Alkalinity }),
		Max: MaxAlkalinity, Test: true, Unit: "mg/L", About: "alkalinity as CaCO3"},
	{Name: "fed_g", access: number(func(c *Check) *units.Optional[units.Grams] { return &c.Fed }),
		Max: MaxFed, Unit: "g", About: "food given"},
	{Name: "note", access: note(func(c *Check) *string { return &c.Note }),
		Most: maxNote, About: "note", Term: dwc + "eventRemarks"},
	{Name: "observer", access: text(func(c *Check) *string { return &c.Observer }), Aside: true, Most: maxName,
		About: "group or role; never a name"},
	{Name: "confirmed", access: confirmed(func(c *Check) *[]string { return &c.Confirmed }), Aside: true, Kept: true,
		About: "fields whose surprising value was confirmed"},
}

func temperature() access[Check] {
	a := as(OfTemperature, number(func(c *Check) *units.Optional[units.Celsius] { return &c.Temperature }))
	a.typed = func(c *Check) (*string, *units.TemperatureUnit) { return &c.TemperatureEntered, &c.TemperatureUnit }
	return a
}

// CheckFields are the fields of a check in the order in which they are shown.
func CheckFields() []Field[Check] { return checkFields }

// WaterTests are the fields of a check that are tests of the water.
func WaterTests() []Field[Check] {
	return slices.DeleteFunc(slices.Clone(checkFields), func(f Field[Check]) bool { return !f.Test })
}

// Tested reports whether the check tests the water in any way.
func (c *Check) Tested() bool {
	return slices.ContainsFunc(checkFields, func(f Field[Check]) bool { return f.Test && f.Said(c) })
}

// Dead returns the dead removed at the check over all stages, and whether any
// count was made.
func (c *Check) Dead() (n int, counted bool) {
	for _, d := range []units.Optional[int]{c.DeadEggs, c.DeadAlevins, c.DeadFry} {
		if d.OK {
			n, counted = n+d.V, true
		}
	}
	return n, counted
}

// Late reports whether the check was entered more than 24 hours after it was
// made, on the clock of the site (requirement Q5; the 24 h are a local choice).
// A check without a time of day is late from the second day after its date.
func (c *Check) Late(loc *time.Location) bool {
	if c.ReceivedAt.IsZero() {
		return false
	}
	if t, err := time.Parse("15:04", c.Time); err == nil {
		y, m, d := c.On.YMD()
		made := time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, loc)
		return c.ReceivedAt.Sub(made) > 24*time.Hour
	}
	return civil.In(c.ReceivedAt, loc).Sub(c.On) >= 2
}

// Empty reports whether the check observes nothing at all.
func (c *Check) Empty() bool {
	return !slices.ContainsFunc(checkFields, func(f Field[Check]) bool { return !f.Aside && f.Said(c) })
}
