package logbook

import (
	"crypto/rand"
	"fmt"
	"strings"
	"sync"
	"time"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// ID names a row for ever and everywhere: random, at least 128 bits, made where
// the row was created, so that two logbooks can be merged without duplicates.
type ID string

// NewID returns a fresh random ID of 26 lower-case letters and digits.
func NewID() ID { return ID(strings.ToLower(rand.Text())) }

// Role is one of the three kinds of user.
type Role string

// The roles. A class signs in as a device, never as pupils.
const (
	Keeper      Role = "keeper"
	Class       Role = "class"
	Coordinator Role = "coordinator"
)

// Roles lists every role.
func Roles() []Role { return []Role{Coordinator, Keeper, Class} }

// Valid reports whether r is a known role.
func (r Role) Valid() bool { return r == Keeper || r == Class || r == Coordinator }

// Actor is who makes a change: a role, never a pupil. SiteID is empty for a
// coordinator, who may act at every site.
type Actor struct {
	AccountID ID
	Role      Role
	SiteID    ID
	Label     string // "Keeper, Quillmere School"; for the history
}

// MaySee reports whether the actor may see rows of a site.
func (a Actor) MaySee(site ID) bool {
	return a.Role == Coordinator || (a.Role.Valid() && a.SiteID != "" && a.SiteID == site)
}

// Programme is the organisation's work of one year. There is one per logbook.
type Programme struct {
	ID              ID
	Name            string
	Language        string // BCP 47: "en" or "fr"
	TemperatureUnit units.TemperatureUnit
	Invented        bool // demo data: every page says so
	Revision        int64
}

// Site is a school.
type Site struct {
	ID              ID
	Name            string
	Zone            string // IANA name, like America/Halifax
	Altitude        units.Optional[units.Metres]
	Language        string
	TemperatureUnit units.TemperatureUnit
	Weekends        Weekends
	Revision        int64
}

// zones holds each time zone that was asked for.
var zones sync.Map

// Zone returns the time zone of an IANA name, or an error when nobody knows it.
func Zone(name string) (*time.Location, error) {
	if z, ok := zones.Load(name); ok {
		return z.(*time.Location), nil
	}
	if name == "" || name == "Local" {
		return nil, fmt.Errorf("unknown time zone %q", name)
	}
	z, err := time.LoadLocation(name)
	if err == nil {
		zones.Store(name, z)
	}
	return z, err
}

// Location returns the time zone of the site. Neither validation nor the store
// lets a name pass that nobody knows; for a site that is being typed it is UTC.
func (s Site) Location() *time.Location {
	z, err := Zone(s.Zone)
	if err != nil {
		return time.UTC
	}
	return z
}

// Wall is how a tank is insulated.
type Wall string

// The walls of a tank.
const (
	BareGlass Wall = "bare"
	Insulated Wall = "insulated"
)

// Tank is an aquarium at a site.
type Tank struct {
	ID         ID
	SiteID     ID
	Name       string
	Volume     units.Litres
	Wall       Wall
	Setpoint   units.Optional[units.Celsius] // when a season starts; later changes are events
	HasChiller bool
	HasFilter  bool
	HasAirPump bool
	HasBasket  bool
	Revision   int64
}

// Species is one of the ten species keys of the JSON interface.
type Species string

// The species, as keys.
const (
	AtlanticSalmon Species = "atlantic_salmon"
	BrownTrout     Species = "brown_trout"
	BrookTrout     Species = "brook_trout"
	LakeTrout      Species = "lake_trout"
	RainbowTrout   Species = "rainbow_trout"
	Chinook        Species = "chinook"
	Coho           Species = "coho"
	Chum           Species = "chum"
	Pink           Species = "pink"
	Sockeye        Species = "sockeye"
)

// AllSpecies lists the species in the order of choice lists.
func AllSpecies() []Species {
	return []Species{AtlanticSalmon, BrownTrout, BrookTrout, LakeTrout, RainbowTrout, Chinook, Coho, Chum, Pink,
		Sockeye}
}

// Valid reports whether s is a known species.
func (s Species) Valid() bool {
	for _, k := range AllSpecies() {
		if s == k {
			return true
		}
	}
	return false
}

// Lot is eggs of one fertilisation. It may be shared by tanks of many sites.
type Lot struct {
	ID           ID
	Code         string // the supplier's or the programme's own name of the lot
	Species      Species
	Supplier     string
	Stock        string
	FertilisedOn civil.Date // zero when not told
	EggDiameter  units.Optional[units.Millimetres]
	Note         string
	Revision     int64 // bumped by every write to any season of the lot
	Edits        int64 // bumped by edits of the lot's own details; an edit starts from it
}

// Entry is what every entered row carries: who, when, and its corrections.
type Entry struct {
	ReceivedAt time.Time // when the server first stored it
	By         Role      // who first stored it
	ByLabel    string
	Revision   int64  // 1 when first stored; each correction adds one
	Reason     string // of the last correction
	Voided     bool

	ChangedAt    time.Time // of the last correction; ReceivedAt when there is none
	ChangedBy    Role
	ChangedLabel string
}

// Corrected reports whether the row was changed after it was first stored.
func (e Entry) Corrected() bool { return e.Revision > 1 }

// Season is one lot in one tank, loaded whole: everything known of it.
type Season struct {
	ID       ID
	Label    string // "2025-26"
	ClosedOn civil.Date
	PermitID ID // permit of the programme that it is under, or empty
	// ReleaseFrom and ReleaseBy are the days on which release is allowed: those of the
	// permit, else of the season itself; zero when not known yet.
	ReleaseFrom, ReleaseBy civil.Date
	Revision               int64 // bumped by every write to the season
	Edits                  int64 // bumped by edits of the season's own details; an edit starts from it

	Site       Site
	Tank       Tank
	Lot        Lot
	Deliveries []Delivery // by date, voided left out
	Checks     []Check    // by date and slot, voided left out
	Voided     []Check
	Events     []Event         // by date, voided left out
	Readings   []Reading       // by time
	Releases   []ReleaseRecord // of the releases among Events
	Samples    []Sample        // fish weighed, by date, voided left out
	ClosedDays []ClosedSpan

	Plan    *Plan   // the setpoint plan that is followed, or nil
	Guesses []Guess // of the day of hatch, by day and group, voided left out
}

// ClosedSpan is a stretch of days on which nobody looks: a holiday or weekend.
type ClosedSpan struct {
	ID     ID
	From   civil.Date
	To     civil.Date // last day, included
	Reason string

	Revision int64
}

// StartedOn returns the date of the first delivery, or the zero date.
func (s *Season) StartedOn() civil.Date {
	if len(s.Deliveries) == 0 {
		return civil.Date{}
	}
	return s.Deliveries[0].On
}

// Open reports whether fish are expected in the tank on day d.
func (s *Season) Open(d civil.Date) bool {
	start := s.StartedOn()
	return !start.IsZero() && !d.Before(start) && (s.ClosedOn.IsZero() || !d.After(s.ClosedOn))
}

// LastCheck returns the latest check on or before day d, or nil.
func (s *Season) LastCheck(d civil.Date) *Check {
	for i := len(s.Checks) - 1; i >= 0; i-- {
		if !s.Checks[i].On.After(d) {
			return &s.Checks[i]
		}
	}
	return nil
}

// SchoolClosed reports whether the site marked day d as closed.
func (s *Season) SchoolClosed(d civil.Date) bool {
	for _, c := range s.ClosedDays {
		if !d.Before(c.From) && !d.After(c.To) {
			return true
		}
	}
	return false
}

// CheckDue reports whether a check is due on day d: the school is open, somebody
// looks on such a weekday, and the delivery was before. On the day of delivery the
// fish are left alone. Weekends is what sites without a setting of their own do.
func (s *Season) CheckDue(d civil.Date, weekends bool) bool {
	return s.Open(d) && d.After(s.StartedOn()) && !s.SchoolClosed(d) && s.Site.LooksOn(d, weekends)
}

// SetpointOn returns the temperature the chiller was set to on day d: the last
// setpoint change up to d, else the tank's setpoint at the start.
func (s *Season) SetpointOn(d civil.Date) units.Optional[units.Celsius] {
	sp := s.Tank.Setpoint
	for _, e := range s.Events {
		if e.Kind == SetpointChange && e.Setpoint.OK && !e.On.After(d) {
			sp = e.Setpoint
		}
	}
	return sp
}
