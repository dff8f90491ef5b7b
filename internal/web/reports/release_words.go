package reports

import (
	"context"
	"strings"

	"reddside/internal/assess"
	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// releaseSoonDays is how long before the first day of release the tank page
// lists what a permit form still asks for.
const releaseSoonDays = 21

// label is the text of a question.
func (g *guide) label(name string) string {
	return g.p.T(g.prefix+"."+name, map[string]any{"Unit": g.p.Unit()})
}

// missing lists what permit forms usually ask for and nobody has told yet.
func (x *release) missing() []string {
	record := x.record()
	names := report.ReleaseMissing(x.season, &x.events()[0], &record)
	for i, name := range names {
		names[i] = x.label(name)
	}
	return names
}

// facts are the answers before the end.
func (x *release) facts() []ui.Fact {
	f := x.answers()
	var out []ui.Fact
	for _, st := range releaseSteps[1:] {
		for _, q := range st.fields {
			if st.id == "finish" || x.blind[q.name] || f.Text(q.name) == "" {
				continue
			}
			out = append(out, ui.Fact{Label: x.label(q.name), Value: x.chosen(q, f.Text(q.name))})
		}
	}
	if n, ok := x.agreed(); ok {
		out = append(out, ui.Fact{Label: x.p.T("release.agreed"), Value: x.p.Count(n)})
	}
	if open := x.notReady(); len(open) > 0 {
		out = append(out, ui.Fact{Label: x.p.T("release.not_ready"), Value: strings.Join(open, "; ")})
	}
	return out
}

// chosen is an answer as it is read: a choice in words.
func (g *guide) chosen(q guidedField, value string) string {
	for _, o := range g.choices[q.kind] {
		if o.Value == value {
			return o.Label
		}
	}
	return value
}

// record is what the release was like, from the answers.
func (x *release) record() logbook.ReleaseRecord {
	f := x.answers()
	var r logbook.ReleaseRecord
	form.ReadFields(f, releaseAsked(), x.p.Unit(), &r)
	r.SeasonID, r.Supplier, r.Stock = x.season.ID, x.season.Lot.Supplier, x.season.Lot.Stock
	r.First, r.Second = f.Count("count"), f.Count("second")
	if !x.hidden["third"] {
		r.Third = f.Count("third")
	}
	if r.Second.OK {
		r.ReasonSingle = ""
	}
	r.ReasonAgain, r.ReasonMore, r.NotReady = f.Text("reason_again"), f.Text("reason_more"),
		strings.Join(x.notReady(), "; ")
	return r
}

// notReady are the signs that nobody ticked, and what was written of them.
func (x *release) notReady() []string {
	f := x.answers()
	var out []string
	for _, name := range releaseReady {
		if f.Text(name) == "" {
			out = append(out, x.label(name))
		}
	}
	if note := f.Text("ready_note"); note != "" {
		out = append(out, note)
	}
	return out
}

// noteText is the note of the event of the release: the reasons that had to be
// stated. Everything else has a field in the record.
func (x *release) noteText(f *form.Form) string {
	var out []string
	for _, name := range []string{"reason_again", "reason_more"} {
		if v := f.Text(name); v != "" {
			out = append(out, x.label(name)+": "+v)
		}
	}
	return strings.Join(out, "\n")
}

// sampled is what the latest sample says of the size of the fish, for a person to
// take over. It is a fact beside the question, never an answer: fish grow.
func (x *release) sampled() []string {
	lines := report.SamplesOf(x.season, x.today)
	if len(lines) == 0 {
		return nil
	}
	last := lines[len(lines)-1]
	args := logbook.Args{"On": last.Sample.On, "Count": last.Sample.Count, "Mean": last.Mean}
	if !last.Length.OK {
		return []string{x.p.T("release.result.sample", args)}
	}
	args["Length"], args["Measured"] = last.Length.V, len(last.Sample.Lengths)
	return []string{x.p.T("release.result.sample", args), x.p.T("release.result.sample_length", args)}
}

// releaseResults are worked out from the answers so far, for the present step.
func releaseResults(x *release) []string {
	f := x.answers()
	var out []string
	say := func(key string, args logbook.Args) { out = append(out, x.p.T("release.result."+key, args)) }
	n, counted := x.agreed()
	each := form.Optional[units.Grams](f, "mean_g")
	v := form.Optional[units.Litres](f, "container")
	switch x.step.id {
	case "size":
		out = append(out, x.sampled()...)
		fallthrough
	case "finish":
		if counted {
			c := report.CountOutOf(x.season.TotalsOn(guidedDay(f, "on", x.today)), n, f.Count("stayed").V)
			say("account", logbook.Args{"Log": c.Log, "Out": c.Out, "Stayed": c.Stayed, "Gap": c.Unexplained})
			if each.OK && x.step.id == "finish" {
				say("biomass", logbook.Args{"Mass": each.V * units.Grams(n)})
			}
		}
	case "count":
		if f.Count("count").OK {
			say("kept", nil)
		}
	case "third":
		say("differ", nil)
	case "trip":
		x.tripResults(f, n, each, v, say)
	case "stream":
		x.streamResults(f, say)
	}
	return out
}

func (x *release) tripResults(f *form.Form, n int, each units.Optional[units.Grams], v units.Optional[units.Litres],
	say func(string, logbook.Args)) {
	t, outside, hours := optTemperature(f, "water", x.p.Unit()), optTemperature(f, "outside", x.p.Unit()),
		f.Number("hours")
	if each.OK && v.OK && n > 0 {
		if load, err := water.Load(n, each.V, v.V); err == nil {
			say("load", logbook.Args{"Load": load})
		}
		if t.OK {
			if h, err := report.BucketHours(x.season.Lot.Species, n, each.V, v.V, t.V,
				x.season.Site.Altitude.V); err == nil {
				say("oxygen", logbook.Args{"Hours": h, "Low": report.TripOxygenLow})
			} else {
				say("oxygen_none", nil)
			}
		}
	}
	if t.OK && outside.OK && hours.OK {
		if kg, err := report.TripIce(t.V, outside.V, hours.V); err == nil {
			say("ice", logbook.Args{"Kg": kg, "Hours": hours.V, "UA": report.CoolerUA})
		}
	}
}

func (x *release) streamResults(f *form.Form, say func(string, logbook.Args)) {
	record := x.record()
	in := care.StreamOf(x.season.Lot.Species, &record)
	if !in.Stream.OK {
		return
	}
	verdict, reasons := care.JudgeStream(in)
	out := "verdict_" + string(verdict)
	say(out, nil)
	for _, r := range reasons {
		args := logbook.Args{"Limit": r.Limit}
		switch r.ID {
		case "too_warm", "warm", "too_cold", "cold":
			args["Limit"], args["Stream"] = units.Celsius(r.Limit), in.Stream.V
		case "gap":
			args["Limit"] = units.CelsiusDelta(r.Limit)
		case "no_oxygen", "low_oxygen":
			args["Limit"] = units.MgPerL(r.Limit)
		}
		say("why_"+r.ID, args)
	}
	if in.Bucket.OK && verdict != care.No {
		x.temperTime(f, in, say)
	}
}

// temperTime says how to temper, and whether the oxygen of still water lasts for
// the way and for that.
func (x *release) temperTime(f *form.Form, in care.Stream, say func(string, logbook.Args)) {
	temperWords(in.Bucket.V, in.Stream.V, say)
	n, counted := x.agreed()
	each, v, hours := form.Optional[units.Grams](f, "mean_g"), form.Optional[units.Litres](f, "container"),
		f.Number("hours")
	steps, err := water.Tempering(in.Bucket.V, in.Stream.V, report.TemperShare, report.TemperWithin)
	if !counted || !each.OK || !v.OK || !hours.OK || err != nil {
		return
	}
	lasts, err := report.BucketHours(x.season.Lot.Species, n, each.V, v.V, in.Bucket.V, x.season.Site.Altitude.V)
	needed := hours.V + float64(len(steps)*report.TemperMinutes)/60
	if err == nil && lasts < needed {
		say("oxygen_short", logbook.Args{"Hours": lasts, "Needed": needed})
	}
}

// temperWords says in which steps water of one temperature is brought to another.
func temperWords(from, to units.Celsius, say func(string, logbook.Args)) {
	gap := units.CelsiusDelta(max(from-to, to-from))
	if gap >= water.TemperingGap {
		say("gap", logbook.Args{"Gap": gap})
	}
	steps, err := water.Tempering(from, to, report.TemperShare, report.TemperWithin)
	switch {
	case err != nil:
	case len(steps) == 0:
		say("temper_none", logbook.Args{"Gap": gap})
	default:
		say("temper", logbook.Args{"Count": len(steps), "Share": 100 * report.TemperShare,
			"Minutes": report.TemperMinutes * len(steps), "Every": report.TemperMinutes})
		for i, t := range steps {
			say("temper_step", logbook.Args{"Step": i + 1, "T": t})
		}
	}
}

// releaseNotice tells staff on the page of a tank that its release comes up, and
// what a permit form still asks for.
func (s *Service) releaseNotice(ctx context.Context, v *req.Info, a assess.Result) (ui.ReleaseNotice, error) {
	var n ui.ReleaseNotice
	season := a.Season
	from := season.ReleaseFrom
	for _, due := range forecast.Husbandry(season, &a.Forecast) {
		if due.Kind == forecast.DueRelease && from.IsZero() {
			from = due.From
		}
	}
	if v.Actor.Role == logbook.Class || !season.ClosedOn.IsZero() || from.IsZero() ||
		a.Today.Before(from.AddDays(-releaseSoonDays)) {
		return n, nil
	}
	for i := range season.Events {
		if season.Events[i].Kind == logbook.Released {
			return n, nil
		}
	}
	x, err := s.releaseTold(ctx, v, season, a.Today)
	if err != nil {
		return n, err
	}
	n.Href, n.Missing = ui.SeasonPath(season.ID, "/release"), x.missing()
	n.Text = x.p.T("release.soon", logbook.Args{"From": from})
	return n, nil
}

// releaseTold is what was told of a release that has not been recorded.
func (s *Service) releaseTold(ctx context.Context, v *req.Info, season *logbook.Season, today civil.Date) (*release,
	error) {
	draft, err := s.DB.Draft(ctx, store.DraftRelease, season.ID)
	return &release{guide: &guide{prefix: "release", p: s.InSite(v, season.Site), draft: draft}, season: season,
		today: today}, err
}
