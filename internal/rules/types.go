package rules

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Message is a catalogue key with its typed values.
type Message struct {
	Key  string
	Args logbook.Args
}

// Kind is what sort of message a flag is.
type Kind string

// The kinds. Act and Watch are abnormal, Due and Note expected; Act and Due
// need somebody to do something.
const (
	Act   Kind = "act"
	Watch Kind = "watch"
	Due   Kind = "due"
	Note  Kind = "note"
)

// Kinds lists the kinds, most urgent first.
func Kinds() []Kind { return []Kind{Act, Watch, Due, Note} }

// Order returns the place of the kind in urgency from 0, or 4 when unknown.
func (k Kind) Order() int {
	switch k {
	case Act:
		return 0
	case Watch:
		return 1
	case Due:
		return 2
	case Note:
		return 3
	}
	return 4
}

// MessageKey returns the catalogue key of the kind.
func (k Kind) MessageKey() string { return "rules.kind." + string(k) }

// Family groups rules on the rules page.
type Family string

// The families, one per file.
const (
	Temperature Family = "temperature"
	Equipment   Family = "equipment"
	Looking     Family = "checks" // checks made, missed and corrected
	Development Family = "stage"
	Water       Family = "water"
	Deaths      Family = "dead"
	Account     Family = "totals"
	Feeding     Family = "feeding"
	Calendar    Family = "calendar"
	Upkeep      Family = "upkeep" // of the logbook itself
)

// MessageKey returns the catalogue key of the family's name.
func (f Family) MessageKey() string { return "rules.family." + string(f) }

// Rule is one rule as the rules page shows it.
type Rule struct {
	ID     string
	Family Family

	Name    Message   // short name
	Watches Message   // what it looks at
	Why     Message   // what happens to the fish when nobody acts
	Do      []Message // what to do, in order, in any situation; never empty
	steps   []string  // the same by id
	Class   Message   // what the pupils do
	Who     logbook.Role
	Within  Message // time allowed

	Source      string // citations of the thresholds, "" when all are local
	LocalChoice bool   // at least one threshold has no published source
	Thresholds  []ThresholdRef

	// ShelveDays is the longest time the flag may be set aside, in days.
	ShelveDays int
}

// ThresholdRef names a threshold of the profile that a rule uses.
type ThresholdRef struct{ Limit Limit }

// Flag is what a rule raises. A flag is the same flag as long as its rule and
// subject are the same within a season; its kind may rise and fall.
type Flag struct {
	Rule     string
	Kind     Kind
	Subject  string     // what it is about: "water", "chiller", "tank", ...
	Since    civil.Date // first day of what is going on
	Headline Message
	Why      Message
	Do       []Message // the steps that are for this tank
	Class    Message   // what the pupils read
	Who      logbook.Role
	Within   Message
	Source   string // citation of the threshold in force, "" when local
	// LocalChoice marks a threshold without a published source.
	LocalChoice bool

	ShelveDays int
}

// Status is the state of a tank in one word.
type Status string

// The statuses, worst first.
const (
	StatusAct     Status = "act"
	StatusWatch   Status = "watch"
	StatusNoCheck Status = "no_check"
	StatusDue     Status = "due" // nothing is wrong, and something is to be done
	StatusFine    Status = "fine"
)

// Order returns the place of the status from worst (0).
func (s Status) Order() int {
	switch s {
	case StatusAct:
		return 0
	case StatusWatch:
		return 1
	case StatusNoCheck:
		return 2
	case StatusDue:
		return 3
	}
	return 4
}

// MessageKey returns the catalogue key of the status.
func (s Status) MessageKey() string { return "rules.status." + string(s) }
