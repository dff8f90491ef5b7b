package imports

import (
	"reddside/internal/web/ui"
)

// ImportHead is what every page of an import has: the tank and the way back.
type ImportHead struct {
	ui.Page
	Tank, Site, TankHref string
	BackHref             string // the page of imports of the season
}

// ImportPage is where a file is chosen, with the files that came before.
type ImportPage struct {
	ImportHead
	Waiting  string // why no file can be read yet; "" when it can
	Problems ui.Problems
	Past     []ImportPast
}

// ImportPast is a file that was stored.
type ImportPast struct{ Href, At, File, Series, Added, Refused, By string }

// ImportQuestion is a question about a file with its answers.
type ImportQuestion struct {
	ui.Field
	Options []ui.Option
}

// ImportRow is a line of a file and what there is to say about it.
type ImportRow struct{ Line, Column, Text, Raw string }

// ImportRows is a bounded list of lines.
type ImportRows struct {
	Rows []ImportRow
	More string // how many further ones there are; ""
	CSV  string // address of the whole list; ""
}

// ImportPreview shows how a logger file was understood, before it is stored.
type ImportPreview struct {
	ImportHead
	File     string
	Action   string
	Shown    string // answers that the page shows; a change asks for another look
	Problems ui.Problems
	Asked    []ImportQuestion // only a person knows
	Found    []ImportQuestion // worked out, to be changed
	Facts    []ui.Fact
	Columns  []string
	Sample   [][]string
	Hidden   string // columns left out of the sample; ""
	Block    string // why nothing can be stored; ""
	Counts   []ui.Fact
	Refused  ImportRows
	Suspect  ImportRows
	Doubts   []string // what has to be confirmed first
	Store    string   // words of the button; "" when there is nothing to store
}

// ImportChecks shows what a logbook file holds, before it is stored.
type ImportChecks struct {
	ImportHead
	File     string
	Action   string
	Problems ui.Problems
	Counts   []ui.Fact
	Wrong    ImportRows
	Surprise ImportRows
	Store    string
}

// ImportResult shows what became of a file of readings.
type ImportResult struct {
	ImportHead
	Counts  []ui.Fact
	Facts   []ui.Fact
	Refused ImportRows

	Voided     string // who took the file back, when and why; ""
	VoidAction string // "" when it is back already
	Reason     string
	Problems   ui.Problems
}
