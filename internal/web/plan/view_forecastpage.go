package plan

import (
	"strconv"

	"reddside/internal/web/ui"
)

// ForecastPage says when things will happen in a tank, how sure that is, and why.
type ForecastPage struct {
	ui.Page
	Top       ui.SeasonTop
	None      string // why there is no forecast
	Now       string
	Ruler     ui.Ruler
	Events    []EventForecast
	Learnt    []string
	Questions []ForecastQuestion
	Confirm   string // action of the form that confirms an entry
	Notes     []string
	Dues      []DueLine
}

// EventForecast is what is known of one event.
type EventForecast struct {
	ID, Name string
	When     string // in words
	More     []string
	Parts    []DoubtPart
	Doubt    string // caption of the parts
}

// DoubtPart is one source of doubt; Width is its share of 100.
type DoubtPart struct {
	Name, Share, Days string
	Width             int
}

func (d DoubtPart) width() string { return strconv.Itoa(d.Width) }

// ForecastQuestion is something to look at, with the ways to answer.
type ForecastQuestion struct {
	Text                  string
	Correct, CorrectLabel string // link, or ""
	CheckID, Revision     string // of the entry that may be confirmed
	Mark                  string // what is confirmed; "" when nothing can be
	ConfirmLabel          string
}

// DueLine is a thing to do with its dates.
type DueLine struct {
	Name, Why                string
	Earliest, Likely, Latest string
	Closed                   []string // dates on which nobody is at school
}

// HowPage lays a forecast out day by day.
type HowPage struct {
	ui.Page
	Top    ui.SeasonTop
	Pupil  bool
	Levels []ui.PageLink // the other level
	None   string
	Ruler  ui.Ruler
	Story  []string // in words
	Rows   []HowRow
	Models []HowModel
	Bias   []string
}

// HowRow is one day of the sum.
type HowRow struct {
	On, Temperature, Source, Rate, Index, Units string
	Today, Estimated                            bool
}

// HowModel is a model as the page shows it.
type HowModel struct{ Event, Source, Known, Range, Doubt string }
