package limits

import (
	"reddside/internal/rules"
	"reddside/internal/web/ui"
)

// Thresholds is the list of all limits, stock and local side by side.
type Thresholds struct {
	ui.Page
	finder
	Changed  []ThresholdLine
	Families []ThresholdFamily
}

// ThresholdFamily is the limits of a family of rules.
type ThresholdFamily struct {
	ID, Name string
	Rows     []ThresholdLine
}

// Groups are the rows of each limit.
func (f ThresholdFamily) Groups() [][]ThresholdLine {
	var out [][]ThresholdLine
	for i, t := range f.Rows {
		if i == 0 || f.Rows[i-1].Name != t.Name {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], t)
	}
	return out
}

// ThresholdLine is one limit.
type ThresholdLine struct{ Name, Scope, Stock, Local, Source, Reason, Href string }

// ThresholdEdit is the page on which one limit is changed.
type ThresholdEdit struct {
	ui.Page
	Name, Scope, Key, Action string
	Species, Stage           string
	AllSpecies, AllStages    []ui.Option
	Facts                    []ui.Fact
	Revision                 int64
	HasLocal                 bool
	Value, Reason            ui.Field
	Problems                 ui.Problems
	Preview                  *ThresholdPreview
	History                  []ThresholdChange
}

// ThresholdChange is one value that a limit has had.
type ThresholdChange struct{ When, Value, By, Reason string }

// ThresholdPreview is what past seasons would have looked like.
type ThresholdPreview struct {
	Lines []string
	Same  bool
	Rows  []PreviewRow
	More  bool
}

// PreviewRow is a flag that only one of two sets of limits raises.
type PreviewRow struct {
	What, Rule, Tank, When string
	Kind                   rules.Kind
}

// Recalibration is the page on the programme's own death rates.
type Recalibration struct {
	ui.Page
	Found, TooFew string
	Table         ui.DataTable
	Reason        ui.Field
	Problems      ui.Problems
}
