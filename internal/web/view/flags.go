package view

import "reddside/internal/rules"

// FlagItem is a flag on the page of its tank, with its life.
type FlagItem struct {
	Flag  rules.Flag
	ID    string   // of its stored life; "" before that is written
	Lines []string // raised, seen, set aside
	Back  string   // page to come back to
	Aside bool
	// ClosedHref is where to say that the school was closed, for a missing check.
	ClosedHref string
	// What the reader may do.
	CanSee, CanAside, CanWake, CanFind bool
}

// EndedFlag is a flag that ended before anybody had seen it.
type EndedFlag struct {
	ID     string
	Kind   rules.Kind
	Text   string // what it said when it was raised
	When   string
	CanSee bool
}

// FlagHistory is everything that happened to the flags of a season.
type FlagHistory struct {
	Page
	Back, Tank string
	CSV        string
	Steps      []FlagStep
	Excursions DataTable
	NoLogger   string // instead of excursions when there are none
}

// FlagStep is one step.
type FlagStep struct {
	When, What, Text, By, Note string
	Kind                       rules.Kind
}

// FlagList is the list of flags of the programme.
type FlagList struct {
	Page
	State, Site, Kind, Rule string // filters in force
	Sites, Rules            []Option
	States                  []Option
	Rows                    []FlagRow
	Total                   int
	CSV                     string
	Load                    bool // the reader may open the load page
}

// FlagRow is one flag of the programme.
type FlagRow struct {
	ID, Href, Tank, Site, Text string
	Kind                       rules.Kind
	Lines                      []string
	CanSee, CanFind            bool
}

// FlagLoad is how much the flags ask of people.
type FlagLoad struct {
	Page
	Intro  string
	Facts  []Fact
	Tables []LoadTable
}

// LoadTable is a table with a heading and a sentence on how to read it.
type LoadTable struct {
	Title, Note string
	Table       DataTable
	Empty       string // instead of an empty table
}
