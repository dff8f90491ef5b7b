package class

import (
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// ClassTop is the head of every page for a class: which tank, and where else to
// go.
type ClassTop struct {
	Site, Tank string
	Intro      string
	Links      []ClassLink
}

// ClassLink leads to one of the pages; Here marks the page itself.
type ClassLink struct {
	Href, Text string
	Here       bool
}

// ClassFigure is one large figure with its name.
type ClassFigure struct{ Label, Value, More string }

// ClassHub is the page from which a class finds everything about its tank.
type ClassHub struct {
	ui.Page
	Top       ClassTop
	None      string // nothing has come into the tank yet
	Stage     logbook.Stage
	StageName string
	StageText string
	Figures   []ClassFigure
	Ways      []ClassWay
	Hundred   *ui.Hundred
	Question  *ClassQuestion
	MoreHref  string
}

// ClassWay leads to one of the parts, with a sentence of what is there.
type ClassWay struct {
	Href, Name, Text string
	Drawing          string // see classWayDrawing
}

// ClassStage compares what pupils see with what others saw and what is expected.
type ClassStage struct {
	ui.Page
	Top      ClassTop
	Action   string
	Stages   []logbook.Stage // to choose from
	Picked   logbook.Stage   // "" before a choice
	Result   []string        // about the choice
	Expected []string
	Looks    ui.DataTable
	NoLooks  string
	Agree    string // what the looks say together
	LookFor  []ClassLookFor
}

// ClassLookFor says how to tell two stages apart.
type ClassLookFor struct {
	From, To logbook.Stage
	Text     string
}

// ClassUnits is the story of the thermal units.
type ClassUnits struct {
	ui.Page
	Top   ClassTop
	None  string
	Today []string // the numbers of today in sentences
	Steps *ClassSteps
	Marks []string // where the marks lie, in sentences
	Why   []string
	Table ui.DataTable
}

// ClassCompare shows two tanks side by side.
type ClassCompare struct {
	ui.Page
	Top     ClassTop
	None    string
	Choices []ClassLink // the tanks to compare with
	Tanks   []ClassTank // two, or none
	Table   ui.DataTable
	Differs []string
	Why     []string
}

// ClassTank is one of two tanks.
type ClassTank struct {
	Name, Site string
	Stage      logbook.Stage
	StageName  string
	Ruler      ui.Ruler
	ID         string // of the drawing
	Figures    []ClassFigure
}

// ClassQuestions are the questions of today, or a sheet of them.
type ClassQuestions struct {
	ui.Page
	Top   ClassTop
	None  string
	Lead  string
	Sheet string // link to the sheet; "" on the sheet itself
	List  []ClassQuestion
}

// ClassQuestion is a question as it is shown.
type ClassQuestion struct {
	Level  string
	Lead   string
	Table  ui.DataTable // numbers to work with; no rows for none
	Chart  *ClassChart
	Ask    string
	Answer []string
}
