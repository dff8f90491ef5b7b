package ui

import (
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// TankPage is one season of one tank.
type TankPage struct {
	Page
	SeasonID logbook.ID
	Site     string
	Tank     string
	Subtitle string // species, lot and season
	Status   rules.Status
	Ended    string // that the season is over, or ""
	Waiting  string // that nothing has been delivered yet, or ""
	Last     string // age of the last check
	Stage    string
	Flags    []FlagItem
	Aside    []FlagItem // set aside
	Unseen   int
	// EndedFlags ended before anybody had seen them.
	EndedFlags []EndedFlag
	Quiet      string // instead of flags when there are none
	Ruler      Ruler
	Forecast   ForecastWords
	Facts      []Fact
	Figures    []Figure
	Log        []LogRow
	CanCheck   bool // fish are expected, so a check can be entered
	Staff      bool
	Release    ReleaseNotice
	Notes      NoteThread // shown to staff
}

// ForecastWords is a forecast in sentences.
type ForecastWords struct {
	None      string // why there is none
	Lines     []string
	Notes     []string
	Questions []string
}

// Fact is one line of the list of facts.
type Fact struct{ Label, Value string }

// Figure is one or more charts with their finding and their numbers.
type Figure struct {
	Name, Title, Finding string
	Charts               []Chart
	Keys                 []ChartKey
	Table                DataTable
}

// Chart is one drawing: its option is data for static/charts.js.
type Chart struct {
	ID, Title, Describe, Unit string
	Decimals                  int
	Low                       bool
	Option                    map[string]any
}

// ChartKey explains a symbol of a chart.
type ChartKey struct{ Shape, Text string }

// DataTable is a table of numbers.
type DataTable struct {
	Caption string
	Columns []DataColumn
	Rows    [][]string
}

// DataColumn is the head of a column.
type DataColumn struct {
	Label  string
	Number bool
}

// LogRow is an entry of the log.
type LogRow struct {
	When, What string
	Lines      []string
	Href       string // of the stored entry, or ""
	Open       string // text of the link for who cannot see the row
	Mark       EntryMark
	History    string // of the last change: why, who, when
}

// recentRows is how many entries of the log stand open.
const recentRows = 14

func (t TankPage) Recent() []LogRow {
	return t.Log[:min(len(t.Log), recentRows)]
}

func (t TankPage) Earlier() []LogRow {
	return t.Log[min(len(t.Log), recentRows):]
}

func (t TankPage) Path(rest string) string { return "/seasons/" + string(t.SeasonID) + rest }

func (c Chart) DecimalsAttr() string { return strconv.Itoa(c.Decimals) }

func NumClass(number bool) string {
	if number {
		return "num"
	}
	return ""
}
