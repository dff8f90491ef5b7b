package reports

import (
	"slices"
	"strings"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// reportParts lays the report of a season out, part by part.
func reportParts(p *i18n.Printer, r *report.Sheet, missing []string) []reportPart {
	parts := []reportPart{reportLot(r), reportAccount(r), reportCauses(p, r), survivalPart(p, r), reportStages(p, r),
		reportTemperature(p, r), reportExcursions(p, r),
		reportSteps(p, r), reportWater(p, r), reportTreatments(p, r), reportLog(p, r), reportGaps(r),
		reportCorrections(p, r), reportRelease(p, r)}
	return append(parts, releaseParts(p, r, missing)...)
}

func optAny[T any](o units.Optional[T]) any {
	if !o.OK {
		return nil
	}
	return o.V
}

func reportLot(r *report.Sheet) reportPart {
	s := r.Season
	return reportPart{id: "lot", facts: []reportFact{
		{"site", s.Site.Name, ""}, {"tank", s.Tank.Name, ""}, {"volume", s.Tank.Volume, "L"}, {"season", s.Label, ""},
		{"lot", s.Lot.Code, ""}, {"species", s.Lot.Species, ""}, {"supplier", s.Lot.Supplier, ""},
		{"stock", s.Lot.Stock, ""},
		{"fertilised", s.Lot.FertilisedOn, ""}, {"started", s.StartedOn(), ""}, {"closed", s.ClosedOn, ""},
		{"release_from", s.ReleaseFrom, ""}, {"release_by", s.ReleaseBy, ""}}}
}

func reportAccount(r *report.Sheet) reportPart {
	t, d := &r.Totals, &r.Deaths
	return reportPart{id: "account", facts: []reportFact{{"delivered", t.Delivered, "1"}, {"moved_in", t.MovedIn, "1"},
		{"dead_eggs", d.Eggs, "1"}, {"dead_alevins", d.Alevins, "1"}, {"dead_fry", d.Fry, "1"}, {"dead", t.Dead, "1"},
		{"moved_out", t.MovedOut, "1"}, {"sampled", t.Sampled, "1"}, {"released", t.Released, "1"},
		{"unexplained", t.Unexplained, "1"}, {"alive", t.Alive, "1"}, {"counted_on", t.CountedOn, ""}}}
}

func survivalPart(p *i18n.Printer, r *report.Sheet) reportPart {
	x := reportPart{id: "survival"}
	if !r.SurvivalOK {
		x.notes = []string{p.T("seasonreport.survival_none")}
		return x
	}
	v := &r.Survival.Season
	x.facts = []reportFact{{"survival_percent", percent1(v.Estimate), "%"}, {"survival_of", v.Of, "1"},
		{"exact_low_percent", percent1(v.Exact.Lower), "%"}, {"exact_high_percent", percent1(v.Exact.Upper), "%"},
		{"wide_low_percent", percent1(v.Lower), "%"}, {"wide_high_percent", percent1(v.Upper), "%"}}
	x.notes = []string{p.T("seasonreport.exact_note"), p.T("seasonreport.wide_note")}
	if r.Survival.Estimated {
		x.notes = append(x.notes, p.T("seasonreport.estimated_note"))
	}
	return x
}

func reportStages(p *i18n.Printer, r *report.Sheet) reportPart {
	t := &reportTable{name: "stages", columns: []string{"from", "stage", "until", "at_risk", "dead", "survival_percent",
		"survival_low_percent", "survival_high_percent"}}
	if r.SurvivalOK {
		for _, s := range r.Survival.Stages {
			t.rows = append(t.rows, []any{s.From, p.Value(s.Stage), s.To, s.Of, s.Of - s.Alive, percent1(s.Estimate),
				percent1(s.Exact.Lower), percent1(s.Exact.Upper)})
		}
	}
	return reportPart{id: "stages", table: t}
}

func reportTemperature(p *i18n.Printer, r *report.Sheet) reportPart {
	t := &r.Temperatures
	x := reportPart{id: "temperature", facts: []reportFact{{"lowest", optAny(t.Lowest), "Cel"},
		{"mean", optAny(t.Mean), "Cel"},
		{"highest", optAny(t.Highest), "Cel"}, {"by_checks", t.Checks, "1"}, {"by_logger", t.Readings, "1"},
		{"suspect", t.Suspect, "1"}}}
	if t.Readings == 0 {
		x.notes = []string{p.T("seasonreport.no_logger")}
	} else {
		x.facts = append(x.facts, reportFact{"degree_hours", units.Round(t.DegreeHours, 1), "K.h"})
	}
	return x
}

func reportExcursions(p *i18n.Printer, r *report.Sheet) reportPart {
	t := &reportTable{name: "excursions", columns: []string{"from", "until", "side", "limit", "extreme", "hours",
		"degree_hours"}}
	for _, e := range r.Temperatures.Excursions {
		t.rows = append(t.rows, []any{e.Days[0], e.Days[1], p.T(sideKey(e)), e.Limit, e.Extreme,
			units.Round(e.Hours, 1), units.Round(e.DegreeHours, 1)})
	}
	return reportPart{id: "excursions", table: t}
}

func sideKey(e rules.Excursion) string {
	if e.High {
		return "seasonreport.too_warm"
	}
	return "seasonreport.too_cold"
}

func reportSteps(p *i18n.Printer, r *report.Sheet) reportPart {
	t := &reportTable{name: "steps", columns: []string{"on", "what", "details", "thermal_units", "index"}}
	for _, s := range r.Steps {
		what, details := "", ""
		switch {
		case s.Delivery != nil:
			what = p.T("seasonreport.delivery")
			details = p.T("seasonreport.delivery_details", logbook.Args{"N": s.Delivery.Count,
				"Method": s.Delivery.Method, "Stage": s.Delivery.Stage})
		case s.Event != nil:
			what = p.Value(s.Event.Kind)
			details = eventDetails(p, s.Event)
		default:
			what = p.T("seasonreport.half", logbook.Args{"Event": ui.EventName(p, s.Seen)})
		}
		index := optAny(s.Index)
		if s.Index.OK {
			index = units.Round(s.Index.V, 2)
		}
		t.rows = append(t.rows, []any{s.On, what, details, optAny(s.ThermalUnits), index})
	}
	return reportPart{id: "steps", table: t}
}

// eventDetails writes what an event says beside its kind and day, on one line.
func eventDetails(p *i18n.Printer, e *logbook.Event) string {
	var out []string
	for _, field := range words.EventFields[2:] {
		if text := words.EventText(p, e, field); text != "" {
			out = append(out, words.EventLabel(p, field)+": "+strings.Join(strings.Fields(text), " "))
		}
	}
	return strings.Join(out, "; ")
}

func reportWater(p *i18n.Printer, r *report.Sheet) reportPart {
	tests := slices.DeleteFunc(logbook.WaterTests(), func(f logbook.Field[logbook.Check]) bool {
		return !slices.ContainsFunc(r.Water, func(c logbook.Check) bool { return f.Said(&c) })
	})
	t := &reportTable{name: "water", columns: []string{"on", "temperature"}}
	for i := range tests {
		t.columns = append(t.columns, strings.TrimSuffix(tests[i].Name, "_mg_l"))
	}
	t.columns = append(t.columns, "judged")
	for i := range r.Water {
		c := &r.Water[i]
		row := []any{c.On, optAny(c.Temperature)}
		for k := range tests {
			row = append(row, tests[k].Quantity(c))
		}
		t.rows = append(t.rows, append(row, waterJudged(p, r.Judged[i], r.Unjudged[i])))
	}
	x := reportPart{id: "water", table: t}
	if len(t.rows) == 0 {
		x.notes = []string{p.T("seasonreport.water_none")}
	}
	return x
}

// waterJudged writes which limits in force a water test lies outside of.
func waterJudged(p *i18n.Printer, list []rules.WaterJudgement, unknown bool) string {
	var out []string
	for _, j := range list {
		source := j.Source
		if j.LocalChoice {
			source = p.T(rules.LocalChoice.MessageKey())
		}
		out = append(out, p.T("seasonreport.outside", logbook.Args{"Limit": p.T(j.Limit.MessageKey()),
			"Bound": p.Sig(j.Bound), "Source": source}))
	}
	if unknown {
		out = append(out, p.T("seasonreport.ammonia_unknown"))
	}
	if len(out) == 0 {
		return p.T("seasonreport.inside")
	}
	return strings.Join(out, "; ")
}

// reportCauses shares the dead out by cause, where a check says one.
func reportCauses(p *i18n.Printer, r *report.Sheet) reportPart {
	t := &reportTable{name: "causes", columns: []string{"cause", "dead_eggs", "dead_alevins", "dead_fry", "dead"}}
	for _, c := range r.Causes {
		name := p.T("seasonreport.cause_none")
		if c.Cause != "" {
			name = p.Value(c.Cause)
		}
		t.rows = append(t.rows, []any{name, c.Eggs, c.Alevins, c.Fry, c.Sum()})
	}
	return reportPart{id: "causes", table: t}
}

func reportGaps(r *report.Sheet) reportPart {
	t := &reportTable{name: "gaps", columns: []string{"from", "until", "days_missed"}}
	for _, g := range r.Completeness.Gaps {
		t.rows = append(t.rows, []any{g.From, g.To, g.Days})
	}
	return reportPart{id: "gaps", table: t}
}

// reportCorrections lists the checks that were corrected or taken back, and why.
func reportCorrections(p *i18n.Printer, r *report.Sheet) reportPart {
	t := &reportTable{name: "corrections", columns: []string{"on", "what", "reason", "by"}}
	for _, list := range [][]logbook.Check{r.Season.Checks, r.Season.Voided} {
		for i := range list {
			c := &list[i]
			if !c.Corrected() || c.On.After(r.UpTo) {
				continue
			}
			what := p.T("seasonreport.was_corrected")
			if c.Voided {
				what = p.T("seasonreport.was_voided")
			}
			t.rows = append(t.rows, []any{c.On, what, words.ReasonText(p, c.Reason), c.ChangedLabel})
		}
	}
	return reportPart{id: "corrections", table: t}
}

func reportTreatments(p *i18n.Printer, r *report.Sheet) reportPart {
	t := &reportTable{name: "treatments", columns: []string{"on", "product", "purpose", "dose", "dose_unit", "minutes",
		"allowed_by", "days_before_release", "free_on"}}
	for i := range r.Season.Events {
		e := &r.Season.Events[i]
		if e.Kind != logbook.Treatment {
			continue
		}
		v, free := &e.Treated, any(nil)
		if v.DaysBeforeRelease.OK {
			free = e.FreeOn()
		}
		t.rows = append(t.rows, []any{e.On, v.Product, v.Purpose, optAny(v.Dose), words.Word(p, v.DoseUnit),
			optAny(v.Minutes), v.AllowedBy,
			optAny(v.DaysBeforeRelease), free})
	}
	x := reportPart{id: "treatments", table: t}
	if len(t.rows) == 0 {
		x.notes = []string{p.T("seasonreport.treatments_none")}
	}
	return x
}

func reportLog(p *i18n.Printer, r *report.Sheet) reportPart {
	c := &r.Completeness
	return reportPart{id: "log", facts: []reportFact{{"days_due", c.DaysDue, "d"}, {"days_checked", c.DaysChecked, "d"},
		{"checked_percent", percent1(c.Share), "%"}, {"checks", c.Checks, "1"}, {"late", c.Late, "1"},
		{"late_percent", units.Round(c.LatePct, 1), "%"},
		{"corrected", c.Corrected, "1"}, {"corrected_percent", units.Round(c.CorrectedPct, 1), "%"},
		{"longest_gap", c.LongestGap, "d"},
		{"voided", len(r.Season.Voided), "1"}}, notes: []string{p.T("seasonreport.due_note")}}
}

func reportRelease(p *i18n.Printer, r *report.Sheet) reportPart {
	t := &reportTable{name: "release", columns: []string{"on", "time", "count", "mean_g", "place", "permit", "who",
		"note"}}
	for i := range r.Released {
		e := &r.Released[i]
		t.rows = append(t.rows, []any{e.On, e.Time, optAny(e.Count), optAny(e.MeanG), e.Place, e.Permit, e.Observer,
			e.Note})
	}
	x := reportPart{id: "release", table: t}
	if len(t.rows) == 0 {
		x.notes = []string{p.T("seasonreport.release_none")}
	}
	return x
}

// releaseParts are the records of the releases, and what a permit form may still
// ask for. Before the release missing is what nobody has told yet.
func releaseParts(p *i18n.Printer, r *report.Sheet, missing []string) []reportPart {
	var out []reportPart
	for i := range r.Released {
		e := &r.Released[i]
		x := reportPart{id: "release_record", day: e.On}
		departed, why := words.Deviations(p, e.Deviations), e.DeviationWhy
		record := r.Season.ReleaseRecordOf(e.ID)
		if record == nil {
			record = &logbook.ReleaseRecord{}
		} else {
			x.facts = append([]reportFact{{"day", e.On, ""}}, releaseFacts(record)...)
			if departed == "" {
				departed, why = words.Deviations(p, record.Deviations), record.DeviationWhy
			} else if record.Deviations != "" {
				departed += "; " + words.Deviations(p, record.Deviations)
			}
			x.link = ui.PageLink{Href: ui.ReleasePath(record.ID, "/correct"), Text: p.T("release.correct")}
			if record.Corrected() {
				x.notes = append(x.notes,
					p.T("release.corrected", logbook.Args{"By": record.ChangedLabel,
						"Reason": words.ReasonText(p, record.Reason)}))
			}
		}
		if departed != "" {
			x.notes = append(x.notes, p.T("release.departed", logbook.Args{"What": departed, "Why": why}))
		}
		missing = nil
		for _, name := range report.ReleaseMissing(r.Season, e, record) {
			missing = append(missing, p.T("release."+name, map[string]any{"Unit": p.Unit()}))
		}
		if len(missing) > 0 {
			x.notes = append(x.notes, p.T("release.missing_list", logbook.Args{"List": strings.Join(missing, "; ")}))
		}
		out = append(out, x)
	}
	if len(out) == 0 && len(missing) > 0 {
		out = append(out, reportPart{id: "release_record",
			notes: []string{p.T("release.missing_list", logbook.Args{"List": strings.Join(missing, "; ")})}})
	}
	return out
}
