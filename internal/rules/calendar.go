package rules

import (
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
)

func calendarRules() []Rule { return []Rule{hatchWindow(), waterChangeDue()} }

func hatchWindow() Rule {
	return newRule("hatch_window", Calendar, logbook.Keeper, nextCheck, 14,
		[]string{"look_hatch", "have_ready_hatch", "look_foam", "keep_dark"}, DueLeadDays)
}

func waterChangeDue() Rule {
	return newRule("water_change", Calendar, logbook.Keeper, threeDays, 7,
		[]string{"caution_electric", "treat_water", "change_water", "siphon", "log_change"}, WaterChangeDays)
}

// calendar raises what is expected about now.
func (a *assessor) calendar() {
	a.hatchDue()
	a.changeDue()
}

// hatchDue is raised from shortly before the hatch window opens until half of
// the eggs or more were seen hatched, and never before they have eyes.
func (a *assessor) hatchDue() {
	if index, known := a.indexOn(a.today); !known || forecast.StageAt(index).Order() < eyedEgg ||
		!a.firstSeen(alevin).IsZero() || a.out.Stage.Stage.Order() > alevin {
		return
	}
	w := &a.windows().Hatch
	if !w.Ok() || !w.Observed.IsZero() {
		return
	}
	opens := w.P10.AddDays(-int(a.p.any(DueLeadDays)))
	if a.today.Before(opens) {
		return
	}
	r := hatchWindow()
	a.raise(r, Flag{Kind: Due, Subject: "hatch", Since: opens,
		Headline: headline(r.ID, "", logbook.Args{"From": w.P10, "To": w.P90})})
}

// changeDue is raised when the water was not changed for longer than the stage
// allows. Days count from the last change or the first day of the stage.
func (a *assessor) changeDue() {
	stage := a.out.Stage.Stage.Order()
	every := a.limit(WaterChangeDays, stage)
	if every != every { // not a number: eggs need no regular change
		return
	}
	from := civil.Max(a.lastEvent(logbook.WaterChange), a.stageBegan(stage))
	if from.IsZero() || float64(a.today.Sub(from)) < every {
		return
	}
	due := from.AddDays(int(every))
	r := waterChangeDue()
	f := Flag{Kind: Due, Subject: "water_change", Since: due, Headline: headline(r.ID, "", logbook.Args{
		"Count": a.today.Sub(from), "Last": from,
	})}
	f.Source, f.LocalChoice = a.sourceOf(WaterChangeDays, stage)
	a.raise(r, f)
}

// stageBegan returns the first day of a stage: the first that needs regular
// changes is the alevin, so later stages count from the hatch as well.
func (a *assessor) stageBegan(stage int) civil.Date {
	if seen := a.firstSeen(min(stage, alevin)); !seen.IsZero() {
		return seen
	}
	if f := a.windows(); f != nil && f.Hatch.Ok() && !f.Hatch.P50.After(a.today) {
		return f.Hatch.P50
	}
	return a.s.StartedOn()
}
