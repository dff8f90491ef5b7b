package view

// ReportPage is a report for paper: facts and tables, section by section.
type ReportPage struct {
	Page
	Back, BackHref string
	Intro          string
	Wide           bool // a wide table: landscape on paper
	Sections       []ReportSection
}

// ReportSection is one part of a report. Each of its pieces may be missing.
type ReportSection struct {
	ID, Title string
	Facts     []Fact
	Table     DataTable
	Notes     []string
}

// bare reports whether the section has nothing to show.
func (s ReportSection) bare() bool {
	return len(s.Facts) == 0 && len(s.Table.Rows) == 0 && len(s.Notes) == 0
}
