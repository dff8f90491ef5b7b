package care

import (
	"slices"
	"strings"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Leaving is a release that is judged before it is stored: against the permit, the
// water, open flags and the days after a treatment. What is not known holds nothing
// against it.
type Leaving struct {
	Season *logbook.Season
	Permit *logbook.Permit // nil for none that is known
	Before int             // fish released under that permit before
	Places []logbook.ReleasePlace
	Acts   []string // rules of the open flags that ask to act
	Event  *logbook.Event
	Record *logbook.ReleaseRecord // nil where there is none yet
}

// deviation is the prefix of the keys of deviations; what follows is the stored code.
const deviation = "release.deviation."

// Codes are the codes of deviations, as they are stored.
func Codes(list []logbook.Problem) string {
	var out []string
	for _, p := range list {
		out = append(out, strings.TrimPrefix(p.Key, deviation))
	}
	return strings.Join(out, " ")
}

// judging collects deviations; each asks for a reason in the same field.
type judging struct{ list []logbook.Problem }

func (j *judging) add(bad bool, code string, args logbook.Args) {
	if bad {
		j.list = append(j.list, logbook.Problem{Field: "deviation_why", Key: deviation + code, Args: args})
	}
}

// OfEvent returns in what the release departs from what is permitted or right: day,
// number of the permit, water, count, weight, species, open flags, treatment.
func (l Leaving) OfEvent() []logbook.Problem {
	var j judging
	e, s, p := l.Event, l.Season, l.Permit
	from, by := s.ReleaseFrom, s.ReleaseBy
	if p != nil && !p.From.IsZero() {
		from = p.From
	}
	if p != nil && !p.To.IsZero() {
		by = p.To
	}
	j.add(!from.IsZero() && e.On.Before(from), "early", logbook.Args{"On": e.On, "Day": from})
	j.add(!by.IsZero() && e.On.After(by), "late", logbook.Args{"On": e.On, "Day": by})
	if p != nil {
		j.add(e.Permit != "" && !logbook.SameName(e.Permit, p.Number), "permit",
			logbook.Args{"Told": e.Permit, "Permit": p.Number})
		water := l.water()
		j.add(water != "" && !p.AllowsWater(water), "water", logbook.Args{"Water": water, "Waters": p.Waters})
		j.add(p.MostFish.OK && l.Before+e.Count.V > p.MostFish.V, "number",
			logbook.Args{"N": e.Count.V, "Before": l.Before, "Most": p.MostFish.V})
		j.add(outside(e.MeanG, p.LeastG, p.MostG), "weight", logbook.Args{"Mean": e.MeanG.V})
		j.add(!p.AllowsSpecies(s.Lot.Species), "species", logbook.Args{"Species": s.Lot.Species})
	}
	j.add(len(l.Acts) > 0, "flag", logbook.Args{"Count": len(l.Acts)})
	if t := s.TooEarly(e.On); t != nil {
		j.add(true, "treatment", logbook.Args{"Product": t.Treated.Product, "Free": t.FreeOn()})
	}
	return j.list
}

// OfRecord returns in what the record of a release departs: water, length, and a
// stream that is refused (JudgeStream). What the event says already is left out.
func (l Leaving) OfRecord() []logbook.Problem {
	var j judging
	r, p := l.Record, l.Permit
	if p != nil {
		j.add(r.WaterBody != "" && !p.AllowsWater(r.WaterBody), "water",
			logbook.Args{"Water": r.WaterBody, "Waters": p.Waters})
		j.add(outside(r.MeanMM, p.LeastMM, p.MostMM), "length", logbook.Args{"Mean": r.MeanMM.V})
	}
	verdict, reasons := JudgeStream(StreamOf(l.Season.Lot.Species, r))
	if verdict == No {
		for _, x := range reasons {
			j.add(x.Verdict == No, "stream_"+x.ID, logbook.Args{"Limit": x.Limit})
		}
	}
	return j.list
}

// Of returns the deviations of event and record together, each once.
func (l Leaving) Of() []logbook.Problem {
	out := l.OfEvent()
	for _, p := range l.OfRecord() {
		if !slices.ContainsFunc(out, func(x logbook.Problem) bool { return x.Key == p.Key }) {
			out = append(out, p)
		}
	}
	return out
}

// water is the receiving water: that of the record, else of the place of the
// programme that is named, else the place as it was written, unless that names a
// permitted water.
func (l Leaving) water() string {
	if l.Record != nil && l.Record.WaterBody != "" {
		return l.Record.WaterBody
	}
	for _, x := range l.Places {
		if logbook.SameName(x.Name, l.Event.Place) {
			return x.Water
		}
	}
	for _, w := range logbook.ListOf(l.Permit.Waters) {
		if strings.Contains(strings.ToLower(l.Event.Place), strings.ToLower(w)) {
			return w
		}
	}
	return l.Event.Place
}

// StreamOf is what a record says of the stream.
func StreamOf(species logbook.Species, r *logbook.ReleaseRecord) Stream {
	s := Stream{Species: species, Stage: r.LifeStage, Bucket: r.Bucket, Stream: r.Stream, Oxygen: r.StreamOxygen,
		PH: r.StreamPH, BucketPH: r.BucketPH}
	if s.Stage == "" {
		s.Stage = logbook.Fry
	}
	return s
}

func outside[T ~float64](v, least, most units.Optional[T]) bool {
	return v.OK && (least.OK && v.V < least.V || most.OK && v.V > most.V)
}
