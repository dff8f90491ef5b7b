package flags

import (
	"reddside/internal/rules"
	"reddside/internal/web/ui"
)

// FlagHistory is everything that happened to the flags of a season.
type FlagHistory struct {
	ui.Page
	Back, Tank string
	CSV        string
	Steps      []FlagStep
	Excursions ui.DataTable
	NoLogger   string // instead of excursions when there are none
}

// FlagStep is one step.
type FlagStep struct {
	When, What, Text, By, Note string
	Kind                       rules.Kind
}

// FlagList is the list of flags of the programme.
type FlagList struct {
	ui.Page
	State, Site, Kind, Rule string // filters in force
	Sites, Rules            []ui.Option
	States                  []ui.Option
	Rows                    []FlagRow
	Total                   int
	Range, Prev, Next       string // which rows this page shows, and the others; "" for all
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
	ui.Page
	Intro  string
	Facts  []ui.Fact
	Tables []LoadTable
}

// LoadTable is a table with a heading and a sentence on how to read it.
type LoadTable struct {
	Title, Note string
	Table       ui.DataTable
	Empty       string // instead of an empty table
}
