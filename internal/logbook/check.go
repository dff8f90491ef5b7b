package logbook

import (
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

// Sighting is a yes-or-no look; empty means that nothing was said.
type Sighting string

// Sightings.
const (
	Seen    Sighting = "seen"
	NotSeen Sighting = "not_seen"
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
	Fungus  Sighting // white fuzz on eggs

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
	_, counted := c.Dead()
	return !c.Temperature.OK && c.Chiller == "" && c.Filter == "" && c.AirPump == "" &&
		!counted && c.Stage == "" && c.Hatched == "" && c.Water == "" && c.Fungus == "" &&
		!c.PH.OK && !c.TAN.OK && !c.Nitrite.OK && !c.Nitrate.OK && !c.Oxygen.OK && !c.Chlorine.OK && !c.Alkalinity.OK && !c.Fed.OK && c.Note == ""
}

// Quality is what the program thinks of a reading. Suspect readings are kept,
// shown with a mark and left out of sums.
type Quality string

// Qualities of a reading.
const (
	Good    Quality = "good"
	Suspect Quality = "suspect"
)

// Reading is one temperature from a logger file or sensor. A daily mean has
// only a date (At is zero); nothing invents a time for it.
type Reading struct {
	At          time.Time
	On          civil.Date // the day at the site
	Temperature units.Celsius
	Quality     Quality
	Reason      string // message key of why it is suspect
	File        int64  // tells the files of a season apart; 0 for none
}

// EventKind is something done to a tank.
type EventKind string

// The kinds of event.
const (
	WaterChange    EventKind = "water_change"
	FilterRinse    EventKind = "filter_rinse"
	SetpointChange EventKind = "setpoint_change"
	BasketOpened   EventKind = "basket_opened" // alevins let out of the basket
	FirstFeed      EventKind = "first_feed"
	MovedIn        EventKind = "moved_in"
	MovedOut       EventKind = "moved_out"
	SampleTaken    EventKind = "sample_taken"
	PowerCut       EventKind = "power_cut"
	Treatment      EventKind = "treatment"
	Counted        EventKind = "counted" // all living fish counted
	Released       EventKind = "release"
)

// EventKinds lists the kinds of event in the order of choice lists.
func EventKinds() []EventKind {
	return []EventKind{WaterChange, FilterRinse, SetpointChange, BasketOpened, FirstFeed, MovedIn, MovedOut,
		SampleTaken, PowerCut, Treatment, Counted, Released}
}

// Event is something done. Which of the values are needed depends on the kind:
// a count for moves, samples, counts and releases, litres for a water change, a
// setpoint for a setpoint change, hours for a power cut.
type Event struct {
	ID       ID
	SeasonID ID
	Kind     EventKind
	On       civil.Date
	Time     string // HH:MM on the wall, or empty
	Count    units.Optional[int]
	Litres   units.Optional[units.Litres]
	Setpoint units.Optional[units.Celsius]
	Hours    units.Optional[float64]
	MeanG    units.Optional[units.Grams]
	Place    string // where moved or released
	Permit   string
	Treated  Treated // of a treatment
	Note     string
	Observer string
	Entry
}
