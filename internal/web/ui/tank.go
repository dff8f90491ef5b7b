package ui

import (
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// TankPage is one season of one tank.
type TankPage struct {
	Page
	Next     []Option // what a new tank still lacks
	Whole    bool     // the charts show the whole forecast
	Tab      string   // the address of the part that is shown, behind that of the season
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
	Photo      *Photo // the newest of the last days
	CanCheck   bool   // fish are expected, so a check can be entered
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
	Photos     []Photo
}

// The parts of the page of a tank, as addresses behind that of the season. The
// first is how the tank is now.
const (
	TankNow    = ""
	TankCharts = "/charts"
	TankLog    = "/log"
	TankFacts  = "/facts"
)

// Tabs are the parts of the page.
func (t TankPage) Tabs() []Option {
	out := []Option{{TankNow, t.T("tank.tab.now")}}
	if t.Waiting == "" {
		out = append(out, Option{TankCharts, t.T("tank.tab.charts")})
	}
	return append(out, Option{TankLog, t.T("tank.tab.log")}, Option{TankFacts, t.T("tank.tab.facts")})
}

// More are the other pages of the season.
func (t TankPage) More() []Option {
	var out []Option
	add := func(show bool, path, key string) {
		if show {
			out = append(out, Option{path, t.T(key)})
		}
	}
	begun, open := t.Waiting == "", t.Ended == ""
	add(begun, "/class", "class.link")
	add(begun, "/photos", "tank.photos")
	add(begun, "/families", "families.link")
	add(t.CanCheck, "/food", "food.title")
	add(begun, "/survival", "season_link.survival")
	add(t.Staff && open && begun, "/import", "tank.import")
	add(t.Staff && open, "/deliveries/new", "tank.add_delivery")
	add(t.Staff && begun, "/report", "seasonreport.link")
	return out
}

// recentRows is how many entries of the log stand open.
const recentRows = 14

func (t TankPage) Recent() []LogRow {
	return t.Log[:min(len(t.Log), recentRows)]
}

func (t TankPage) Earlier() []LogRow {
	return t.Log[min(len(t.Log), recentRows):]
}

func (t TankPage) Path(rest string) string { return SeasonPath(t.SeasonID, rest) }

func (c Chart) DecimalsAttr() string { return strconv.Itoa(c.Decimals) }

func NumClass(number bool) string {
	if number {
		return "num"
	}
	return ""
}
