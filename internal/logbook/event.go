package logbook

import (
	"time"

	"reddside/internal/civil"
	"reddside/internal/units"
)

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
	// Deviations are codes of what a release departed from, with spaces between: noted
	// when it is stored. DeviationWhy is the stated reason.
	Deviations, DeviationWhy string
	Note                     string
	Observer                 string
	Entry
}

var eventFields = []Field[Event]{
	{Name: "kind", access: choice(EventKinds(), func(e *Event) *EventKind { return &e.Kind }),
		Must: true, About: "kind of event"},
	{Name: "on", access: date(func(e *Event) *civil.Date { return &e.On }),
		Must: true, Column: "on_date", About: "day at the site", Term: dwc + "eventDate"},
	{Name: "time", access: clock(func(e *Event) *string { return &e.Time }),
		Column: "local_time", About: "time on the wall", Term: dwc + "eventTime"},
	{Name: "count", access: whole(func(e *Event) *units.Optional[int] { return &e.Count }),
		Column: "fish_count", Unit: "1", About: "eggs or fish", Term: dwc + "individualCount"},
	{Name: "litres", access: number(func(e *Event) *units.Optional[units.Litres] { return &e.Litres }),
		JSON: "volume_l", Unit: "L", About: "water changed"},
	{Name: "setpoint", access: number(func(e *Event) *units.Optional[units.Celsius] { return &e.Setpoint }),
		JSON: "setpoint_c", Unit: "Cel", About: "new setpoint"},
	{Name: "hours", access: number(func(e *Event) *units.Optional[float64] { return &e.Hours }),
		JSON: "duration_h", Unit: "h", About: "how long"},
	{Name: "mean_g", access: number(func(e *Event) *units.Optional[units.Grams] { return &e.MeanG }),
		JSON: "mean_weight_g", Unit: "g", About: "mean weight"},
	{Name: "place", access: text(func(e *Event) *string { return &e.Place }),
		Most: maxRelease, About: "where moved or released"},
	{Name: "permit", access: text(func(e *Event) *string { return &e.Permit }), Most: maxName, About: "permit"},
	{Name: "product", access: text(func(e *Event) *string { return &e.Treated.Product }),
		Most: maxName, About: "product of a treatment"},
	{Name: "purpose", access: text(func(e *Event) *string { return &e.Treated.Purpose }), Most: maxRelease,
		About: "what the treatment was for"},
	{Name: "dose", access: number(func(e *Event) *units.Optional[float64] { return &e.Treated.Dose }),
		About: "dose, in dose_unit"},
	{Name: "dose_unit", access: choice(DoseUnits(), func(e *Event) *DoseUnit { return &e.Treated.DoseUnit }),
		About: "mg_l, g_l, ml_l, percent or mg_kg"},
	{Name: "minutes", access: number(func(e *Event) *units.Optional[float64] { return &e.Treated.Minutes }),
		Unit: "min", About: "how long the treatment took"},
	{Name: "allowed_by", access: text(func(e *Event) *string { return &e.Treated.AllowedBy }),
		Most: maxName, About: "who allowed the treatment"},
	{Name: "days_before_release", access: whole(func(e *Event) *units.Optional[int] { return &e.Treated.DaysBeforeRelease }),
		Unit: "d", About: "days from the treatment to release"},
	{Name: "deviations", access: text(func(e *Event) *string { return &e.Deviations }), Kept: true,
		About: "what a release departed from, codes with spaces between"},
	{Name: "deviation_why", access: text(func(e *Event) *string { return &e.DeviationWhy }), Most: MaxReason,
		About: "why a release departed from that"},
	{Name: "note", access: note(func(e *Event) *string { return &e.Note }),
		Most: maxNote, About: "note", Term: dwc + "eventRemarks"},
	{Name: "observer", access: text(func(e *Event) *string { return &e.Observer }),
		Most: maxName, About: "group or role; never a name"},
}

// EventFields are the fields of an event in the order in which they are shown.
func EventFields() []Field[Event] { return eventFields }
