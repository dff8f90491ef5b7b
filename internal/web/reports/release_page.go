package reports

import (
	"context"
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// releaseRoutes are the guided pages of the two days on which fish travel, for
// staff.
func (s *Service) releaseRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/release", s.Page(s.releaseShow))
	r.Post("/seasons/{seasonID}/release", s.Page(s.releaseSave))
	r.Get("/releases/{releaseID}/correct", s.Page(s.releaseEdit))
	r.Post("/releases/{releaseID}/correct", s.Page(s.releaseCorrect))
	r.Get("/tanks/{tankID}/delivery-day", s.Page(s.deliveryDayShow))
	r.Post("/tanks/{tankID}/delivery-day", s.Page(s.deliveryDaySave))
	r.Get("/tanks/{tankID}/before-eggs", s.Page(s.beforeShow))
	r.Post("/tanks/{tankID}/before-eggs", s.Page(s.beforeSave))
}

// releaseReady are the signs that fry can go.
var releaseReady = []string{"yolk_gone", "feeding", "swimming", "healthy", "own_water", "permit_day"}

var releaseSteps = []guidedStep{
	{"ready", []guidedField{{name: "yolk_gone", kind: "tick"}, {name: "feeding", kind: "tick"},
		{name: "swimming", kind: "tick"},
		{name: "healthy", kind: "tick"}, {name: "own_water", kind: "tick"}, {name: "permit_day", kind: "tick"},
		{name: "ready_note", kind: "area"}}},
	{"permit", []guidedField{{name: "permit", kind: "text"}, {name: "listed_place", kind: "listed_place"},
		recorded("water_body"), {name: "place", kind: "text"}, recorded("coordinates"), recorded("latitude"), recorded("longitude"), recorded("purpose"), recorded("life_stage"),
		{name: "who", kind: "text"}, recorded("health"), recorded("health_note")}},
	{"count", []guidedField{{"count", "count", 0, 1e6}, {"stayed", "count", 0, 1e6}}},
	{"second", []guidedField{{"second", "count", 0, 1e6}, recorded("reason_single")}},
	{"third", []guidedField{{"third", "count", 0, 1e6}}},
	{"size", []guidedField{{"mean_g", "number", 0.01, 1000}, recorded("mean_mm"), recorded("size_how")}},
	{"trip", []guidedField{recorded("transport"), recorded("water_source"), recorded("oxygen"),
		recorded("container"), recorded("water"), {"outside", "temperature", -30, 45}, {"hours", "number", 0, 24}}},
	{"stream", []guidedField{recorded("left"), recorded("arrived"), recorded("bucket"), recorded("stream"),
		recorded("stream_oxygen"), recorded("stream_ph"), recorded("bucket_ph"),
		recorded("temper_steps"), recorded("temper_minutes"), {name: "on", kind: "date"},
		{name: "time", kind: "time"}}},
	{"finish", []guidedField{{name: "reason_again", kind: "text"}, {name: "reason_more", kind: "text"},
		recorded("deviation_why"), {name: "close", kind: "tick"}}},
}

// recorded is a question whose answer stands in the record of a release, with the
// limits of its field.
func recorded(name string) guidedField {
	for _, f := range logbook.ReleaseFields() {
		if f.Question() != name {
			continue
		}
		kind := "text"
		switch {
		case f.Type == logbook.OfClock:
			kind = "time"
		case f.Type == logbook.OfChoice: // its own list
			kind = name
		case f.Type == logbook.OfWhole:
			kind = "count"
		case f.Unit == "Cel":
			kind = "temperature"
		case f.Type == logbook.OfNumber:
			kind = "number"
		}
		return guidedField{name, kind, f.Min, f.Max}
	}
	panic("no field of a release is asked as " + name)
}

// releaseChoices are the lists of the guided release.
func releaseChoices(p *i18n.Printer) map[string][]ui.Option {
	open := func(list []ui.Option) []ui.Option {
		return append([]ui.Option{{Value: "", Label: p.T("guided.choose")}}, list...)
	}
	return map[string][]ui.Option{"life_stage": open(words.KeyedOptions(p, []logbook.Stage{logbook.Alevin, logbook.Fry,
		logbook.Parr, logbook.Smolt})),
		"health": open(words.KeyedOptions(p, logbook.HealthStatements())),
		"oxygen": open(words.KeyedOptions(p, logbook.OxygenSupplies()))}
}

// release is a guided release with its season.
type release struct {
	*guide
	season *logbook.Season
	today  civil.Date
	places []logbook.ReleasePlace // of the programme
}

// listed offers the places of the programme, and fills in the number of the permit that
// the season is under.
func (s *Service) listed(ctx context.Context, x *release) (err error) {
	if x.places, err = s.DB.ReleasePlaces(ctx); err != nil {
		return err
	}
	options := []ui.Option{{Label: x.p.T("guided.choose")}}
	for i := range x.places {
		options = append(options, ui.Option{Value: string(x.places[i].ID), Label: x.places[i].Name})
	}
	x.choices["listed_place"] = options
	if len(x.places) == 0 {
		x.steps = slices.Clone(x.steps)
		fields := &x.steps[1].fields
		*fields = slices.DeleteFunc(slices.Clone(*fields), func(q guidedField) bool { return q.name == "listed_place" })
	}
	if x.draft.Data["permit"] == "" && x.season.PermitID != "" {
		permit, err := s.DB.Permit(ctx, x.season.PermitID)
		if err != nil {
			return err
		}
		x.draft.Data["permit"] = permit.Number
	}
	return nil
}

// takeListed fills what is still open of the place from the one that was chosen.
func (x *release) takeListed() {
	for i := range x.places {
		l := &x.places[i]
		if string(l.ID) != x.draft.Data["listed_place"] {
			continue
		}
		for name, text := range map[string]string{"place": l.Name, "water_body": l.Water, "coordinates": l.Coordinates} {
			if x.draft.Data[name] == "" && text != "" {
				x.draft.Data[name] = text
			}
		}
	}
}

// releaseOf loads what was told of the release of the season of the address.
func (s *Service) releaseOf(r *http.Request) (*release, error) {
	season, err := s.SeasonOf(r)
	if err != nil {
		return nil, err
	}
	v := req.Of(r)
	p := s.InSite(v, season.Site)
	g := &guide{prefix: "release", kind: store.DraftRelease, subject: season.ID,
		path:  ui.SeasonPath(season.ID, "/release"),
		back:  ui.PageLink{Href: ui.SeasonPath(season.ID), Text: season.Tank.Name + ", " + season.Site.Name},
		steps: releaseSteps, p: p, choices: releaseChoices(p), blind: map[string]bool{"count": true, "second": true,
			"third": true}}
	g.draft, err = s.DB.Draft(r.Context(), g.kind, g.subject)
	if err != nil {
		return nil, err
	}
	x := &release{guide: g, season: season, today: s.Assess.Today(season.Site, v.Now)}
	x.taken = x.takeListed
	err = s.listed(r.Context(), x)
	x.look()
	return x, err
}

// look shows the third look only where the two counts differ.
func (x *release) look() {
	f := x.answers()
	first, second := f.Count("count"), f.Count("second")
	x.hidden = map[string]bool{"third": !first.OK || !second.OK || report.CountsClose(first.V, second.V)}
}

func (s *Service) releaseShow(w http.ResponseWriter, r *http.Request) error {
	x, err := s.releaseOf(r)
	if err != nil {
		return err
	}
	x.at(r.URL.Query().Get("step"))
	return s.renderRelease(w, r, x, nil)
}

func (s *Service) renderRelease(w http.ResponseWriter, r *http.Request, x *release, f *form.Form) error {
	m := GuidedPage{Tank: x.season.Tank.Name, Results: releaseResults(x)}
	if x.step.id == "stream" || x.step.id == "finish" {
		m.PhotosHref = ui.SeasonPath(x.season.ID, "/photos")
	}
	if x.step.id == "permit" || x.step.id == "finish" {
		m.Missing = x.missing()
	}
	if x.step.id == "finish" {
		m.Facts = x.facts()
		departs, err := s.departs(r, x)
		if err != nil {
			return err
		}
		m.Results = append(departs, m.Results...)
	}
	return s.renderGuide(w, r, x.guide, f, m)
}

// releaseSave stores one step, and after the last one the release.
func (s *Service) releaseSave(w http.ResponseWriter, r *http.Request) error {
	x, err := s.releaseOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	x.at(f.Text("step"))
	ok, err := s.saveGuide(r, x.guide, f)
	if err != nil {
		return err
	}
	x.look()
	if !ok {
		return s.renderRelease(w, r, x, f)
	}
	if x.step.id != "finish" {
		http.Redirect(w, r, x.path+"?step="+x.next(), http.StatusSeeOther)
		return nil
	}
	return s.releaseFinish(w, r, x, f)
}

// releaseFinish records the release, or says what is still in the way.
func (s *Service) releaseFinish(w http.ResponseWriter, r *http.Request, x *release, f *form.Form) error {
	v := req.Of(r)
	events, record := x.events(), x.record()
	var closeOn civil.Date
	if f.Raw("close") != "" {
		closeOn = events[0].On
	}
	err := s.Entries.FinishRelease(r.Context(), entries.Sent{Actor: v.Actor, Season: x.season, Now: v.Now},
		x.draft.Revision, events, &record, closeOn, func(stored *logbook.Season) []logbook.Problem {
			return x.problems(stored, events, closeOn)
		})
	ok, err := s.guideFailed(r, x.guide, f, err)
	if err != nil {
		return err
	}
	if !ok {
		return s.renderRelease(w, r, x, f)
	}
	s.SetNotice(r, x.p.T("release.done", logbook.Args{"Tank": x.season.Tank.Name}))
	http.Redirect(w, r, ui.SeasonPath(x.season.ID, "/report"), http.StatusSeeOther)
	return nil
}

// departs says in what the release departs from what is permitted or right.
func (s *Service) departs(r *http.Request, x *release) (out []string, err error) {
	record := x.record()
	l, err := s.Entries.Leaving(r.Context(), x.season, &x.events()[0], &record, "")
	for _, p := range l.Of() {
		out = append(out, x.p.T(p.Key, p.Args))
	}
	return out, err
}

// agreed is the number that both people counted, or the only one with a reason.
func (x *release) agreed() (int, bool) {
	f := x.answers()
	if first := f.Count("count"); first.OK && !f.Count("second").OK && f.Text("reason_single") != "" {
		return first.V, true
	}
	return report.Agreed(f.Count("count"), f.Count("second"), f.Count("third"))
}

// events are the release, and a count of what stayed: so that a gap shows in the
// account of the tank and is not hidden.
func (x *release) events() []logbook.Event {
	f := x.answers()
	on := guidedDay(f, "on", x.today)
	n, ok := x.agreed()
	out := logbook.Event{Kind: logbook.Released, On: on, Time: f.Text("time"), Count: units.Optional[int]{V: n, OK: ok},
		MeanG: form.Optional[units.Grams](f, "mean_g"), Place: f.Text("place"), Permit: f.Text("permit"),
		Observer: f.Text("who"), Note: x.noteText(f), DeviationWhy: f.Text("deviation_why")}
	stayed := logbook.Event{Kind: logbook.Counted, On: on, Count: units.Some(f.Count("stayed").V),
		Observer: f.Text("who"), Note: x.p.T("release.stayed_note")}
	return []logbook.Event{out, stayed}
}

// problems is what stands in the way of recording the release in a season as it
// is stored now.
func (x *release) problems(stored *logbook.Season, events []logbook.Event, closeOn civil.Date) []logbook.Problem {
	f, out := x.answers(), []logbook.Problem(nil)
	add := func(field, key string, args logbook.Args) {
		out = append(out, logbook.Problem{Field: field, Key: key, Args: args})
	}
	n, ok := x.agreed()
	switch {
	case !f.Count("count").OK:
		add("count", "release.count_missing", nil)
	case !f.Count("second").OK && !ok:
		add("second", "release.second_missing", nil)
	case !ok:
		add("third", "release.third_missing", nil)
	}
	seen := map[string]bool{"count": len(out) > 0, "note": true} // reasons have fields of their own here
	for i := range events {
		for _, p := range events[i].Validate(stored, x.today) {
			if !seen[p.Field] {
				seen[p.Field] = true
				out = append(out, p)
			}
		}
	}
	if len(out) > 0 {
		return out
	}
	on := events[0].On
	stayed := f.Count("stayed").V
	for _, p := range stored.ReleaseDoubts(on, x.today, n+stayed, "") {
		if field := "reason_" + p.Field; f.Text(field) == "" {
			add(field, p.Key, p.Args)
		}
	}
	if !closeOn.IsZero() {
		if stayed > 0 {
			add("close", "release.close_stayed", logbook.Args{"N": stayed})
		}
		closing := *stored
		closing.ClosedOn = closeOn
		for _, p := range closing.ValidateClosing(x.today) {
			add("close", p.Key, p.Args)
		}
	}
	return out
}
