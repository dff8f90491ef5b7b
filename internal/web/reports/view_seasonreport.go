package reports

import (
	"strconv"

	"reddside/internal/web/ui"
)

// ReportPage is a report for paper: facts and tables, section by section.
type ReportPage struct {
	State string // when it was written, and the last entry; on paper
	ui.Page
	Back, BackHref string
	Intro          string
	Wide           bool // a wide table: landscape on paper
	Sections       []ReportSection
	Photos         []ui.Photo
}

// ReportSection is one part of a report. Each of its pieces may be missing.
type ReportSection struct {
	ID, Title string
	Facts     []ui.Fact
	Table     ui.DataTable
	Notes     []string
	Sum       bool        // the last row adds the others up
	Link      ui.PageLink // to correct it; "" for none
}

// bare reports whether the section has nothing to show.
func (s ReportSection) bare() bool {
	return len(s.Facts) == 0 && len(s.Table.Rows) == 0 && len(s.Notes) == 0
}

// partID names the heading of a section; a second one of the same part has its
// place in its name.
func (v ReportPage) partID(i int) string {
	for _, s := range v.Sections[:i] {
		if s.ID == v.Sections[i].ID {
			return "part-" + s.ID + "-" + strconv.Itoa(i)
		}
	}
	return "part-" + v.Sections[i].ID
}
