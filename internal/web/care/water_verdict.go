package care

import (
	"strings"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/ui"
)

// waterVerdict says of the newest tests what the limits in force say.
type waterVerdict struct {
	*waterTests
	outside map[rules.Limit]rules.WaterJudgement
	perhaps bool // the kit's error reaches past the limit of ammonia
	stage   logbook.Stage
}

// verdictLimits are the limits in force of each test: the low ones, then the high.
var verdictLimits = map[string]struct{ low, high []rules.Limit }{
	"ph_value": {low: []rules.Limit{rules.PHWatchLow, rules.PHActLow}, high: []rules.Limit{rules.PHWatchHigh,
		rules.PHActHigh}},
	"tan":     {high: []rules.Limit{rules.TotalAmmoniaWatch}},
	"nh3":     {high: []rules.Limit{rules.AmmoniaWatch}},
	"nitrite": {high: []rules.Limit{rules.NitriteWatch, rules.NitriteAct}},
	"nitrate": {high: []rules.Limit{rules.NitrateDue}},
	"oxygen":  {low: []rules.Limit{rules.OxygenWatch, rules.OxygenAct}},
}

// judgeNewest judges the newest of each test as if they were of one check.
func (k *waterTests) judgeNewest() *waterVerdict {
	v := &waterVerdict{waterTests: k, outside: map[rules.Limit]rules.WaterJudgement{}, stage: k.Assessment.Stage.Stage}
	c := logbook.Check{On: v.newestOn(), Temperature: k.t}
	if k.ph != nil {
		c.PH = k.ph.PH
	}
	if k.nitrite != nil {
		c.Nitrite = k.nitrite.Nitrite
	}
	if k.nitrate != nil {
		c.Nitrate = k.nitrate.Nitrate
	}
	if k.oxygen != nil {
		c.Oxygen = k.oxygen.Oxygen
	}
	checks := []logbook.Check{c}
	if k.tan != nil {
		a := logbook.Check{On: k.tan.On, TAN: k.tan.TAN}
		if k.known() {
			t, ph := k.withAmmonia()
			a.Temperature, a.PH = units.Some(t), units.Some(ph)
		}
		checks = append(checks, a)
	}
	judged, _ := rules.JudgeWater(rules.Input{Season: k.Season, Today: k.Today, Forecast: &k.Forecast,
		Profile: k.profile}, checks)
	for i, list := range judged {
		for _, j := range list {
			if ofAmmonia := j.Limit == rules.AmmoniaWatch || j.Limit == rules.TotalAmmoniaWatch; ofAmmonia == (i == 1) {
				v.outside[j.Limit] = j
			}
		}
	}
	return v
}

// bound is a limit in force.
func (v *waterVerdict) bound(l rules.Limit) float64 {
	x, _ := v.profile.Value(l, v.Season.Lot.Species, v.stage)
	return x
}

// reachedBy notes how much un-ionised ammonia there may be by the kit's error.
func (v *waterVerdict) reachedBy(high units.MgPerL) {
	v.perhaps = float64(high) > v.bound(rules.AmmoniaWatch)
}

// broken is the limit of a test that its newest value lies outside of.
func (v *waterVerdict) broken(test string) (rules.WaterJudgement, bool) {
	limits := verdictLimits[test]
	for _, l := range append(append([]rules.Limit{}, limits.low...), limits.high...) {
		if j, ok := v.outside[l]; ok {
			return j, true
		}
	}
	return rules.WaterJudgement{}, false
}

// about puts the verdict before a value, and the limits in force after it.
func (v *waterVerdict) about(test, value string) string {
	limits, judged := verdictLimits[test]
	if !judged {
		return value
	}
	is := "fine"
	if j, out := v.broken(test); out {
		is = string(j.Kind)
	} else if test == "nh3" && v.perhaps {
		is = "perhaps"
	}
	args := logbook.Args{}
	show := func(l rules.Limit) any {
		if test == "ph_value" {
			return v.p.Num(v.bound(l), 1)
		}
		return units.MgPerL(v.bound(l))
	}
	key := "care_water.in_force.between"
	if len(limits.low) > 0 {
		args["Low"] = show(limits.low[0])
	} else {
		key = "care_water.in_force.high"
	}
	if len(limits.high) > 0 {
		args["High"] = show(limits.high[0])
	} else {
		key = "care_water.in_force.low"
	}
	return strings.Join([]string{v.p.T("care_water.is." + is), strings.TrimSuffix(value, ".") + ".", v.p.T(key, args)},
		" ")
}

// waterTestDays is how old the newest test may be before the page asks for another
// one first (common practice, no source: test weekly, and one week may be missed).
const waterTestDays = 14

// newestOn is the day of the newest test.
func (v *waterVerdict) newestOn() (on civil.Date) {
	for _, c := range []*logbook.Check{v.tan, v.ph, v.oxygen, v.nitrite, v.nitrate, v.chlorine, v.alkalinity} {
		if c != nil {
			on = civil.Max(on, c.On)
		}
	}
	return on
}

// answer says in one sentence what to do about the water today.
func (v *waterVerdict) answer() (*ui.CareAnswer, error) {
	p, a := v.p, &ui.CareAnswer{}
	key := "care_water.verdict.change"
	part, why, err := v.plan([]string{"nh3", "tan", "nitrite"})
	if err == nil && part.Share == 0 { // what harms in weeks has time
		key = "care_water.verdict.change_soon"
		part, why, err = v.plan([]string{"nitrate"})
	}
	if err != nil {
		return nil, err
	}
	a.Lines = v.stopFood(a.Lines)
	if _, low := v.broken("oxygen"); low {
		a.Urgent = true
		a.Lines = append(a.Lines, p.T("care_water.verdict.air"))
	}
	if v.Assessment.Situation.MassLoss { // its sample comes first, as the flag says
		for _, id := range []string{"call_now", "pour_nothing"} {
			a.Lines = append(a.Lines, p.T(care.ByID(id).Key()))
		}
		part.Share, a.Urgent = 0, true
	}
	if part.Share > 0 {
		litres := units.Litres(part.Share * float64(v.Season.Tank.Volume))
		a.Lines = append(a.Lines, p.T(key, logbook.Args{"Litres": litres, "Percent": p.Percent(part.Share),
			"Count": len(part.Levels), "Near": water.NewWaterNear, "Test": strings.Join(why, "; ")}),
			p.T("care_water.verdict.expected", logbook.Args{"Levels": v.levels(part)}))
	}
	if _, out := v.broken("ph_value"); out {
		a.Lines = append(a.Lines, p.T("care_water.verdict.ph"))
	}
	a.Lines = append(v.flagged(a), a.Lines...)
	for _, j := range v.outside {
		a.Urgent = a.Urgent || j.Kind == rules.Act
	}
	switch {
	case v.tan != nil && !v.known() && v.tan.TAN.V > 0:
		a.Lines = append([]string{p.T("care_water.verdict.unknown")}, a.Lines...)
	case len(a.Lines) == 0 && v.perhaps:
		a.Lines = append(a.Lines, p.T("care_water.verdict.perhaps"))
	case len(a.Lines) == 0:
		a.Lines = append(a.Lines, p.T("care_water.verdict.fine"))
	}
	if old := v.Today.Sub(v.newestOn()); old > waterTestDays {
		a.Lines = append([]string{p.T("care_water.verdict.old", logbook.Args{"Count": old})}, a.Lines...)
	}
	a.Headline, a.Lines = a.Lines[0], a.Lines[1:]
	if part.Share > 0 {
		a.Lines = append(a.Lines, p.T("care_water.verdict.change_how"))
	}
	return a, nil
}

// flagged tells the flags of tests that have no line of their own here: the page
// never calls fine what a flag does not.
func (v *waterVerdict) flagged(a *ui.CareAnswer) (lines []string) {
	for i := range v.Assessment.Flags {
		f := &v.Assessment.Flags[i]
		_, low := v.broken("oxygen")
		_, ph := v.broken("ph_value")
		switch {
		case f.Rule == "chlorine", f.Rule == "alkalinity", f.Rule == "gas", f.Rule == "oxygen" &&
			!low, f.Rule == "ph" && !ph:
			lines = append(lines, v.p.T(f.Headline.Key, f.Headline.Args))
			a.Urgent = a.Urgent || f.Kind == rules.Act
		}
		if f.Rule == "chlorine" {
			lines = append(lines, v.dechlorinate(f)...)
		}
	}
	return lines
}

// dechlorinate is the dose for the whole tank, by what its flag measured.
func (v *waterVerdict) dechlorinate(f *rules.Flag) []string {
	found, ok := f.Headline.Args["Value"].(units.MgPerL)
	if !ok {
		return nil
	}
	dose, err := water.Dechlorination(v.Season.Tank.Volume, found, false)
	if err != nil { // a tank without volume has no dose
		return nil
	}
	return []string{v.p.T("care_water.verdict.dechlorinate", logbook.Args{"Litres": v.Season.Tank.Volume,
		"Dose": dose.Pentahydrate, "Ml": v.p.Num(dose.StockML(), 0)})}
}

// stopFood begins with stopping the food where a flag stops it.
func (v *waterVerdict) stopFood(lines []string) []string {
	h := v.Assessment.Hold
	if h.Held() && h.Reason != rules.HoldRelease {
		lines = append(lines, v.p.T("rules.do.stop_food"))
	}
	return lines
}

// plan is the change that brings the tests down to their limits in force, with new
// water that has none of it, and the names of the tests that ask for it. Its levels
// are those of the test that asks for most.
func (v *waterVerdict) plan(tests []string) (most water.ChangePlan, why []string, err error) {
	for _, test := range tests {
		j, out := v.broken(test)
		if !out {
			continue
		}
		now, target := units.MgPerL(j.Value), units.MgPerL(v.bound(verdictLimits[test].high[0]))
		if test == "nh3" { // it comes down in step with the total that is diluted, which has its own limit
			now, target = v.tan.TAN.V, min(v.tan.TAN.V*target/now, units.MgPerL(v.bound(rules.TotalAmmoniaWatch)))
		}
		x, err := water.PlanChange(now, 0, target)
		if err != nil {
			return most, nil, err
		}
		why = append(why, v.p.T("care_water."+test))
		if len(x.Levels) > len(most.Levels) || len(x.Levels) == len(most.Levels) && x.Share > most.Share {
			most = x
		}
	}
	return most, why, nil
}

// levels writes what is expected after each step.
func (k *waterTests) levels(plan water.ChangePlan) string {
	var out []string
	for _, c := range plan.Levels {
		out = append(out, k.p.Value(c))
	}
	return strings.Join(out, "; ")
}
