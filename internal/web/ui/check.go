package ui

import (
	"slices"
	"strings"

	"reddside/internal/logbook"
)

// CheckStyles are the styles of pages of checks and events.
var CheckStyles = []string{"pieces.css", "check.css"}

// CheckForm is the form of a new check or of its correction.
type CheckForm struct {
	Page
	Tank, Site string
	TankHref   string
	Action     string
	Submit     string
	Intro      string
	TANLabel   string // of the ammonia field, when the kit of the school is known
	TANHint    string
	Slot       string
	SlotName   string // "" for the morning check
	Taken      *Taken // the day already has its morning check
	Draft      string // key of the draft kept in the browser; "" for none
	WaitForm   string // address of this form, when its entry may wait on the device; else ""
	Posted     bool   // the values come from a sent form, not from storage
	Hidden     []Option
	Days       []Option // the days as tiles: value and label
	OtherDay   string
	Unit       string
	Equipment  []CheckEquipment
	Dead       []Field // likely for the stage
	DeadOther  []Field
	Stages     []logbook.Stage // to choose from
	// HatchingNow opens the question how many have hatched.
	HatchingNow bool
	AskFood     bool
	Values      map[string]string
	Reasons     []Option // for a correction
	VoidHref    string
	Problems    Problems
	Asked       string // says yes to every question: see form.Asked
}

// CheckEquipment is one piece of equipment; one that is not fitted is only named.
type CheckEquipment struct {
	Name   string
	Fitted bool
}

// Taken tells of a check that is stored for the day.
type Taken struct {
	At, By              string
	Href, CorrectHref   string // CorrectHref is "" when it may not be corrected here
	AlsoExtra, AllTaken bool
}

// extra reports whether a question is marked as optional; of the others the page
// says once that whatever was not looked at stays empty.
func extra(name string) bool {
	f := logbook.FieldOf(logbook.CheckFields(), name)
	return f != nil && (f.Test || slices.Contains([]string{"fed_g", "time", "note", "observer"}, name))
}

// CheckFieldLabel is the label of a field of a check; unit is the temperature
// unit of the site.
func CheckFieldLabel(p Page, field, unit string) string {
	return p.T("check.field."+field, map[string]any{"Unit": unit})
}

// Field builds a field of the form with what was typed.
func (v CheckForm) Field(name, mode, width string) Field {
	f := Field{Name: name, Label: CheckFieldLabel(v.Page, name, v.Unit), Value: v.Values[name], Mode: mode,
		Width: width, Optional: extra(name)}
	if name == "tan_mg_l" && v.TANLabel != "" {
		f.Label = v.TANLabel
	}
	// The number pad of some tablets has no letters: after a problem the whole
	// keyboard is shown, so that a unit can be typed.
	if mode == "decimal" && v.Problems.Of(name) != "" && !v.Problems.Soft(name) {
		f.Mode = ""
	}
	return f
}

// Hinted is Field with its hint.
func (v CheckForm) Hinted(name, mode, width string) Field {
	f := v.Field(name, mode, width)
	f.Hint = v.T("check.hint." + name)
	if name == "tan_mg_l" && v.TANHint != "" {
		f.Hint += " " + v.TANHint
	}
	return f
}

// Open reports whether a folded part has to be open: it holds an answer or a
// problem.
func (v CheckForm) Open(names ...string) bool {
	for _, n := range names {
		if v.Values[n] != "" || v.Problems.Of(n) != "" {
			return true
		}
	}
	return false
}

// ForToday reports whether the check is of today and nothing is asked about its day.
func (v CheckForm) ForToday() bool {
	return v.Day() == v.Days[0].Value && v.OtherDay == "" && v.Problems.Of("on") == ""
}

// Fitted counts the equipment that can be asked about.
func (v CheckForm) Fitted() int { return len(v.fitted()) }

// FittedNames names it.
func (v CheckForm) FittedNames() string {
	return strings.ToLower(strings.Join(v.fitted(), ", "))
}

func (v CheckForm) fitted() []string {
	var out []string
	for _, e := range v.Equipment {
		if e.Fitted {
			out = append(out, CheckFieldLabel(v.Page, e.Name, ""))
		}
	}
	return out
}

// Day is the chosen day, as sent.
func (v CheckForm) Day() string { return v.Values["on"] }

func (v CheckForm) OtherDayChosen() bool {
	for _, d := range v.Days {
		if d.Value == v.Day() {
			return false
		}
	}
	return v.Day() != ""
}

// AskFor chooses what stands open on the form for the stage that is believed
// in. Everything else stays reachable, folded away.
func (v *CheckForm) AskFor(stage logbook.Stage) {
	likely, other := DeadFor(stage)
	for _, name := range likely {
		v.Dead = append(v.Dead, v.dead(name))
	}
	for _, name := range other {
		v.DeadOther = append(v.DeadOther, v.dead(name))
	}
	v.Stages = logbook.StagesAbout(stage, logbook.Stage(v.Values["stage"]))
	v.AskFood = stage.Order() >= logbook.Fry.Order()
}

// DeadFor names the dead counts that are likely in a stage, and the others.
func DeadFor(stage logbook.Stage) (likely, other []string) {
	switch {
	case stage.Order() >= logbook.Fry.Order():
		return []string{"dead_fry", "dead_alevins"}, []string{"dead_eggs"}
	case stage == logbook.GreenEgg:
		return []string{"dead_eggs"}, []string{"dead_alevins", "dead_fry"}
	}
	return []string{"dead_eggs", "dead_alevins"}, []string{"dead_fry"}
}

func (v *CheckForm) dead(name string) Field { return v.Hinted(name, "numeric", "w-num") }

// Dash stands for a value that was not entered.
func Dash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}
