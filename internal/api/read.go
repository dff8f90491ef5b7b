package api

import (
	"net/http"
	"slices"
	"time"

	"reddside/internal/assess"
	"reddside/internal/calc"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

type boardOut struct {
	SeasonID logbook.ID      `json:"season_id"`
	Label    string          `json:"label"`
	SiteID   logbook.ID      `json:"site_id"`
	Site     string          `json:"site"`
	TankID   logbook.ID      `json:"tank_id"`
	Tank     string          `json:"tank"`
	Species  logbook.Species `json:"species"`
	Today    civil.Date      `json:"today"`

	Active       bool                       `json:"active"` // fish are expected in the tank
	Status       rules.Status               `json:"status"`
	LastCheckOn  units.Optional[civil.Date] `json:"last_check_on"`
	LastCheckAge units.Optional[int]        `json:"last_check_age_days"`
	CheckedToday bool                       `json:"checked_today"`
	Temperature  *boardTemperature          `json:"temperature"`
	Temperatures []dayTemperatureOut        `json:"temperatures"`
	DeadThisWeek int                        `json:"dead_this_week"`
	Alive        int                        `json:"alive"`
	Stage        logbook.Stage              `json:"stage"` // "" when not known
	Index        units.Optional[float64]    `json:"development_index"`
	Next         *nextOut                   `json:"next_event"`
	Flags        []boardFlag                `json:"flags"`
}

type boardTemperature struct {
	On           civil.Date    `json:"on"`
	TemperatureC units.Celsius `json:"temperature_c"`
	FromLogger   bool          `json:"from_logger"`
}

type dayTemperatureOut struct {
	On           civil.Date                    `json:"on"`
	TemperatureC units.Optional[units.Celsius] `json:"temperature_c"`
}

type nextOut struct {
	Event string                     `json:"event"`
	P10   units.Optional[civil.Date] `json:"p10"`
	P50   units.Optional[civil.Date] `json:"p50"`
	P90   units.Optional[civil.Date] `json:"p90"`
}

type boardFlag struct {
	Rule    string     `json:"rule"`
	Subject string     `json:"subject"`
	Kind    rules.Kind `json:"kind"`
	Since   civil.Date `json:"since"`
}

// apiBoard lists the open seasons, worst first.
func (s *Service) apiBoard(w http.ResponseWriter, r *http.Request) error {
	v, q := req.Of(r), form.ReadQuery(r)
	site := logbook.ID(q.Text("site"))
	status := q.Choice("status", string(rules.StatusAct), string(rules.StatusWatch), string(rules.StatusNoCheck),
		string(rules.StatusDue), string(rules.StatusFine))
	if err := q.Done(); err != nil {
		return err
	}
	if site != "" && !v.Actor.MaySee(site) {
		return logbook.Missing("site")
	}
	entries, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	out := list[boardOut]{Items: []boardOut{}}
	for _, e := range slices.SortedFunc(slices.Values(entries), (*assess.BoardEntry).Compare) {
		if (site == "" || e.Site.ID == site) && (status == "" || string(e.Assessment.Status) == status) {
			out.Items = append(out.Items, boardJSON(e))
		}
	}
	return req.WriteJSON(w, http.StatusOK, out)
}

func boardJSON(e *assess.BoardEntry) boardOut {
	a := &e.Assessment
	out := boardOut{SeasonID: e.SeasonID, Label: e.Label, SiteID: e.Site.ID, Site: e.Site.Name, TankID: e.Tank.ID,
		Tank:    e.Tank.Name,
		Species: e.Lot.Species, Today: e.Today, Active: a.Active, Status: a.Status, CheckedToday: a.CheckedToday,
		DeadThisWeek: a.DeadThisWeek, Alive: a.Totals.Alive, Stage: a.Stage.Stage, Temperatures: []dayTemperatureOut{},
		Flags: []boardFlag{}}
	if !a.LastCheck.On.IsZero() {
		out.LastCheckOn, out.LastCheckAge = units.Some(a.LastCheck.On), units.Some(a.LastCheck.Age)
	}
	if !a.Temperature.On.IsZero() {
		out.Temperature = &boardTemperature{a.Temperature.On, a.Temperature.Value, a.Temperature.FromLogger}
	}
	for _, d := range a.Temperatures {
		out.Temperatures = append(out.Temperatures, dayTemperatureOut{d.On, d.Value})
	}
	if e.Forecast.Ok() {
		out.Index = units.Some(e.Forecast.Index)
	}
	if a.Next.Event != "" {
		out.Next = &nextOut{string(a.Next.Event), calc.SomeDate(a.Next.P10), calc.SomeDate(a.Next.P50),
			calc.SomeDate(a.Next.P90)}
	}
	for i := range a.Flags {
		f := &a.Flags[i]
		out.Flags = append(out.Flags, boardFlag{f.Rule, f.Subject, f.Kind, f.Since})
	}
	return out
}

type flagOut struct {
	Rule        string       `json:"rule"`
	Subject     string       `json:"subject"`
	Kind        rules.Kind   `json:"kind"`
	Since       civil.Date   `json:"since"`
	Headline    string       `json:"headline"`
	Why         string       `json:"why"`
	Do          []string     `json:"do"`
	Who         logbook.Role `json:"who"`
	Within      string       `json:"within"`
	Source      string       `json:"source,omitempty"`
	LocalChoice bool         `json:"local_choice"`

	ID           logbook.ID                 `json:"id,omitempty"` // of the stored life of the flag
	RaisedAt     *time.Time                 `json:"raised_at"`
	SeenAt       *time.Time                 `json:"seen_at"`
	SeenBy       string                     `json:"seen_by,omitempty"`
	ShelvedUntil units.Optional[civil.Date] `json:"set_aside_until"`
	ShelveReason string                     `json:"set_aside_reason,omitempty"`
}

type flagsOut struct {
	Status rules.Status `json:"status"`
	Active bool         `json:"active"`
	Today  civil.Date   `json:"today"`
	Items  []flagOut    `json:"items"`
}

// apiFlags says what the rules say of a season today, with the stored life of
// each flag.
func (s *Service) apiFlags(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assessedOf(r)
	if err != nil {
		return err
	}
	stored, err := s.DB.Flags(r.Context(), a.Season.ID, false)
	if err != nil {
		return err
	}
	p := s.InSite(req.Of(r), a.Season.Site)
	text := func(m rules.Message) string {
		if m.Key == "" {
			return ""
		}
		return p.T(m.Key, m.Args)
	}
	out := flagsOut{Status: a.Assessment.Status, Active: a.Assessment.Active, Today: a.Today, Items: []flagOut{}}
	for i := range a.Assessment.Flags {
		f := &a.Assessment.Flags[i]
		x := flagOut{Rule: f.Rule, Subject: f.Subject, Kind: f.Kind, Since: f.Since, Headline: text(f.Headline),
			Why: text(f.Why),
			Do:  []string{}, Who: f.Who, Within: text(f.Within), Source: f.Source, LocalChoice: f.LocalChoice}
		for _, m := range f.Do {
			x.Do = append(x.Do, text(m))
		}
		for j := range stored {
			if k := &stored[j]; k.Rule == f.Rule && k.Subject == f.Subject {
				x.ID, x.RaisedAt, x.SeenAt, x.SeenBy = k.ID, someTime(k.RaisedAt), someTime(k.SeenAt), k.SeenBy
				x.ShelvedUntil, x.ShelveReason = calc.SomeDate(k.ShelvedUntil), k.ShelveReason
			}
		}
		out.Items = append(out.Items, x)
	}
	return req.WriteJSON(w, http.StatusOK, out)
}

func someTime(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

type reportOut struct {
	SeasonID     logbook.ID          `json:"season_id"`
	Label        string              `json:"label"`
	Species      logbook.Species     `json:"species"`
	Today        civil.Date          `json:"today"`
	Totals       totalsOut           `json:"totals"`
	Survival     *reportSurvival     `json:"survival"` // null before any delivery, or when more left than came
	Dates        reportDates         `json:"dates"`
	Completeness report.Completeness `json:"completeness"`
}

type reportSurvival struct {
	calc.SurvivalAnswer
	Level      float64 `json:"level"`
	Alive      int     `json:"alive"` // in the tank, moved out, sampled or released
	Total      int     `json:"total"`
	BoundLower float64 `json:"bound_lower"` // if all that is unexplained died
	BoundUpper float64 `json:"bound_upper"` // if none of it died
}

type reportDates struct {
	FertilisedOn units.Optional[civil.Date] `json:"fertilised_on"`
	DeliveredOn  units.Optional[civil.Date] `json:"delivered_on"`
	Eyed         *windowOut                 `json:"eyed"`
	Hatch        *windowOut                 `json:"hatch"`
	SwimUp       *windowOut                 `json:"swim_up"`
	FirstFeedOn  units.Optional[civil.Date] `json:"first_feed_on"`
	ReleasedOn   units.Optional[civil.Date] `json:"released_on"`
	ClosedOn     units.Optional[civil.Date] `json:"closed_on"`
}

// reportLevel is the confidence level of the report's survival.
const reportLevel = 0.95

// apiReport sums a season up: totals, survival, dates, completeness.
func (s *Service) apiReport(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assessedOf(r)
	if err != nil {
		return err
	}
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	season, totals := a.Season, a.Season.TotalsOn(a.Today)
	weekends, _ := profile.Value(rules.CheckWeekends, season.Lot.Species, "")
	out := reportOut{SeasonID: season.ID, Label: season.Label, Species: season.Lot.Species, Today: a.Today,
		Totals:       totalsJSON(totals),
		Completeness: report.CompletenessOf(season, a.Today, weekends != 0)}
	if v, ok := report.AliveOf(totals); ok {
		answer, err := calc.SurvivalOf(v.Left, v.Start, reportLevel)
		if err != nil {
			return err
		}
		out.Survival = &reportSurvival{answer, reportLevel, v.Left, v.Start, v.Lower, v.Upper}
	}
	out.Dates = reportDates{FertilisedOn: calc.SomeDate(season.Lot.FertilisedOn),
		DeliveredOn: calc.SomeDate(season.StartedOn()), ClosedOn: calc.SomeDate(season.ClosedOn)}
	if f := &a.Forecast; f.Ok() {
		eyed, hatch, swimUp := windowJSON(&f.Eyed), windowJSON(&f.Hatch), windowJSON(&f.SwimUp)
		out.Dates.Eyed, out.Dates.Hatch, out.Dates.SwimUp = &eyed, &hatch, &swimUp
	}
	for _, e := range season.Events {
		switch {
		case e.Kind == logbook.FirstFeed && !out.Dates.FirstFeedOn.OK:
			out.Dates.FirstFeedOn = units.Some(e.On)
		case e.Kind == logbook.Released:
			out.Dates.ReleasedOn = units.Some(e.On)
		}
	}
	return req.WriteJSON(w, http.StatusOK, out)
}
