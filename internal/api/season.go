package api

import (
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/calc"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

var seasonEdits = []string{"label", "closed_on", "release_from", "release_by"}

// seasonHeadOut is a season in a list.
type seasonHeadOut struct {
	ID     logbook.ID `json:"id"`
	Label  string     `json:"label"`
	SiteID logbook.ID `json:"site_id"`
	TankID logbook.ID `json:"tank_id"`
	LotID  logbook.ID `json:"lot_id"`
	Open   bool       `json:"open"`
}

func (s *Service) apiSeasons(w http.ResponseWriter, r *http.Request) error {
	v, q := req.Of(r), form.ReadQuery(r)
	f := store.SeasonFilter{SiteID: logbook.ID(q.Text("site")), TankID: logbook.ID(q.Text("tank")),
		LotID:    logbook.ID(q.Text("lot")),
		OpenOnly: q.Choice("open", "true", "false") == "true"}
	if err := q.Done(); err != nil {
		return err
	}
	if v.Actor.Role != logbook.Coordinator {
		if f.SiteID != "" && f.SiteID != v.Actor.SiteID {
			return logbook.Missing("site")
		}
		f.SiteID = v.Actor.SiteID
	}
	heads, err := s.DB.SeasonHeads(r.Context(), f)
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, listOf(heads, func(h *store.SeasonHead) seasonHeadOut {
		return seasonHeadOut{ID: h.ID, Label: h.Label, SiteID: h.SiteID, TankID: h.TankID, LotID: h.LotID,
			Open: !h.Closed}
	}))
}

func (s *Service) apiSeason(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	return shown(w, season.Edits, seasonJSON(season, s.Assess.Today(season.Site, req.Of(r).Now)))
}

// readSeasonJSON reads what a season says of itself into season.
func readSeasonJSON(o *form.Object, season *logbook.Season, today civil.Date) {
	have := *season
	season.Label, season.ReleaseFrom, season.ReleaseBy = o.Text("label"), o.Date("release_from"), o.Date("release_by")
	for _, p := range season.ValidateEdit(&have, today) { // it is not closed here
		if !o.Failed(p.Field) {
			o.Fail(p.Field, p.Key, p.Args)
		}
	}
}

func (s *Service) apiSeasonCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	if err := form.NoQuery(r); err != nil {
		return err
	}
	o, err := form.ReadObject(r)
	if err != nil {
		return err
	}
	var season logbook.Season
	if err := s.readPlace(r, o, &season); err != nil {
		return err
	}
	today := s.Assess.Today(season.Site, v.Now)
	var first logbook.Delivery
	var delivery *logbook.Delivery
	if d := o.Inner("delivery"); d != nil {
		delivery = &first
		readFields(d, logbook.DeliveryFields(), &first)
		d.End()
	}
	if _, sent := o.Fields["label"]; !sent {
		on := today
		if !first.On.IsZero() {
			on = first.On
		}
		o.Fields["label"] = words.SeasonLabel(on)
	}
	readSeasonJSON(o, &season, today)
	o.End()
	if err := logbook.Refuse(*o.Problems); err != nil {
		return err
	}
	in := sent(r, &season)
	if in.Key, err = keyOf(r); err != nil {
		return err
	}
	out, err := s.Entries.StartSeason(r.Context(), in, delivery)
	if err != nil {
		names := map[string]string{}
		for _, f := range logbook.DeliveryFields() {
			names[f.Name] = "delivery." + f.JSONName()
		}
		return renamed(err, names)
	}
	return created(w, "seasons", out.ID, out.Edits, seasonJSON(out, today))
}

// readPlace reads the tank and the lot of a new season. Those of other sites
// are not there.
func (s *Service) readPlace(r *http.Request, o *form.Object, season *logbook.Season) error {
	id := logbook.ID(o.Text("tank_id"))
	t, err := s.DB.Tank(r.Context(), id)
	missing := logbook.KindOf(err) == logbook.NotFound
	switch {
	case err != nil && !missing:
		return err
	case missing || !req.Of(r).Actor.MaySee(t.SiteID):
		o.Fail("tank_id", "api.no_such", nil)
	default:
		season.Tank = t
		if season.Site, err = s.DB.Site(r.Context(), t.SiteID); err != nil {
			return err
		}
	}
	season.Lot, err = s.DB.Lot(r.Context(), logbook.ID(o.Text("lot_id")))
	if logbook.KindOf(err) == logbook.NotFound {
		o.Fail("lot_id", "api.no_such", nil)
		err = nil
	}
	return err
}

func (s *Service) apiSeasonPatch(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	if err := ifMatch(r, have.Edits); err != nil {
		return err
	}
	today := s.Assess.Today(have.Site, v.Now)
	e, err := readEdit(r, seasonJSON(&logbook.Season{Label: have.Label, ClosedOn: have.ClosedOn,
		ReleaseFrom: have.ReleaseFrom, ReleaseBy: have.ReleaseBy}, today), seasonEdits)
	if err != nil {
		return err
	}
	season := *have
	season.ClosedOn = civil.Date{}
	readSeasonJSON(e.Object, &season, today)
	season.ClosedOn = e.Date("closed_on")
	if err := refuseBody(e.Object, func() []logbook.Problem { return season.ValidateClosing(today) }); err != nil {
		return err
	}
	out, err := s.DB.UpdateSeason(r.Context(), v.Actor, season, v.Now)
	if err != nil {
		return err
	}
	if err := s.Assess.SyncFlags(r.Context(), v.Actor, out.ID, v.Now); err != nil {
		return err
	}
	return shown(w, out.Edits, seasonJSON(out, today))
}

type windowOut struct {
	P10         units.Optional[civil.Date] `json:"p10"`
	P50         units.Optional[civil.Date] `json:"p50"`
	P90         units.Optional[civil.Date] `json:"p90"`
	BeforeStart bool                       `json:"before_start"`
	Never       bool                       `json:"never"`
	Observed    *intervalOut               `json:"observed"`
	First       units.Optional[civil.Date] `json:"first"` // of the batch, when half come on p50
	Last        units.Optional[civil.Date] `json:"last"`
	Anchored    bool                       `json:"anchored"` // counted from an observed hatch
	Parts       []partOut                  `json:"doubt"`    // sources, in the order of the sum
}

type partOut struct {
	Kind  forecast.PartKind `json:"kind"`
	Days  float64           `json:"days"`  // standard deviation
	Share float64           `json:"share"` // of the variance
}

type intervalOut struct {
	After      units.Optional[civil.Date] `json:"after"`
	OnOrBefore civil.Date                 `json:"on_or_before"`
}

func windowJSON(x *forecast.Window) windowOut {
	out := windowOut{P10: calc.SomeDate(x.P10), P50: calc.SomeDate(x.P50), P90: calc.SomeDate(x.P90),
		BeforeStart: x.BeforeStart, Never: x.Never,
		First: calc.SomeDate(x.First), Last: calc.SomeDate(x.Last), Anchored: x.Anchored, Parts: []partOut{}}
	for _, p := range x.Parts {
		out.Parts = append(out.Parts, partOut(p))
	}
	if !x.Observed.IsZero() {
		out.Observed = &intervalOut{calc.SomeDate(x.Observed.After), x.Observed.OnOrBefore}
	}
	return out
}

type forecastDayOut struct {
	On           civil.Date                    `json:"on"`
	TemperatureC units.Optional[units.Celsius] `json:"temperature_c"`
	Source       forecast.Source               `json:"source"`
	ThermalUnits units.ThermalUnits            `json:"thermal_units"`
	Index        float64                       `json:"index"`
	Estimated    bool                          `json:"estimated"`
}

type forecastOut struct {
	Ok              bool                               `json:"ok"`
	Reason          string                             `json:"reason,omitempty"` // why there is none
	Today           civil.Date                         `json:"today"`
	Index           float64                            `json:"index"`
	ThermalUnits    units.Optional[units.ThermalUnits] `json:"thermal_units"`
	Events          map[forecast.Event]windowOut       `json:"events"`
	EstimatedDays   int                                `json:"estimated_days"`
	FollowsSetpoint bool                               `json:"follows_setpoint"`
	Weak            bool                               `json:"weak"`
	Notes           []string                           `json:"notes"`
	Questions       []questionOut                      `json:"questions"`
	Learning        learningOut                        `json:"learning"`
	Days            []forecastDayOut                   `json:"days"`
}

type questionOut struct {
	On   civil.Date `json:"on"`
	Text string     `json:"text"`
}

// learningOut is what is known of the lot, and from what.
type learningOut struct {
	LotFactor  float64       `json:"lot_factor"`   // on the days to hatch; above 1 later than the model
	LogSD      float64       `json:"log_sd"`       // of the logarithm of the factor
	PriorLogSD float64       `json:"prior_log_sd"` // before anything was seen
	PastLots   int           `json:"past_lots"`
	From       []observedOut `json:"from"`
}

type observedOut struct {
	Event      forecast.Event             `json:"event"`
	Tank       string                     `json:"tank,omitempty"` // left out for a tank of another school
	SeasonID   logbook.ID                 `json:"season_id,omitempty"`
	After      units.Optional[civil.Date] `json:"after"`
	OnOrBefore units.Optional[civil.Date] `json:"on_or_before"`
}

func learningJSON(r *http.Request, season *logbook.Season, f *forecast.LotFactor) learningOut {
	out := learningOut{LotFactor: f.Factor(), LogSD: f.SD, PriorLogSD: f.PriorSD, PastLots: f.Past,
		From: []observedOut{}}
	for i := range f.From {
		o := &f.From[i]
		x := observedOut{Event: o.Event, After: calc.SomeDate(o.When.After),
			OnOrBefore: calc.SomeDate(o.When.OnOrBefore)}
		if o.Site == season.Site.ID || req.Of(r).Actor.MaySee(o.Site) {
			x.Tank, x.SeasonID = o.Tank, o.Season
		}
		out.From = append(out.From, x)
	}
	return out
}

func (s *Service) apiForecast(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assessedOf(r)
	if err != nil {
		return err
	}
	f, p := &a.Forecast, s.InSite(req.Of(r), a.Season.Site)
	out := forecastOut{Ok: f.Ok(), Today: a.Today, Index: f.Index, Events: map[forecast.Event]windowOut{},
		EstimatedDays:   f.EstimatedDays,
		FollowsSetpoint: f.FollowsSetpoint, Weak: f.Weak, Notes: []string{}, Questions: []questionOut{},
		Learning: learningJSON(r, a.Season, &f.Lot)}
	if !out.Ok {
		out.Reason = p.T(f.Reason, f.Args)
	} else {
		for _, e := range forecast.Events() {
			out.Events[e] = windowJSON(f.Window(e))
		}
		out.ThermalUnits = units.Optional[units.ThermalUnits]{V: f.ThermalUnits, OK: f.ThermalUnitsKnown}
	}
	for _, n := range f.Notes {
		out.Notes = append(out.Notes, p.T(n.Key, n.Args))
	}
	for _, q := range f.Questions {
		out.Questions = append(out.Questions, questionOut{q.On, p.T(q.Key, q.Args)})
	}
	out.Days = listOf(f.Days, func(d *forecast.Day) forecastDayOut {
		return forecastDayOut{d.On, d.Temperature, d.Source, d.ThermalUnits, d.Index, d.Estimated}
	}).Items
	return req.WriteJSON(w, http.StatusOK, out)
}

// assessedOf loads and computes the season of the address.
func (s *Service) assessedOf(r *http.Request) (assess.Result, error) {
	if err := form.NoQuery(r); err != nil {
		return assess.Result{}, err
	}
	season, err := s.SeasonOf(r)
	if err != nil {
		return assess.Result{}, err
	}
	return s.Assess.Assess(r.Context(), season, req.Of(r).Now)
}
