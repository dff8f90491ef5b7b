package web

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

type planStepOut struct {
	On       civil.Date    `json:"on"`
	Setpoint units.Celsius `json:"setpoint_c"`
}

type planTargetOut struct {
	On          civil.Date    `json:"on"`
	Temperature units.Celsius `json:"temperature_c"`
	Index       float64       `json:"development_index"`
}

type planOut struct {
	ID       logbook.ID                 `json:"id"`
	SeasonID logbook.ID                 `json:"season_id"`
	MadeOn   civil.Date                 `json:"made_on"`
	Goal     logbook.PlanGoal           `json:"goal"`
	WantedOn civil.Date                 `json:"wanted_on"`
	SwimUpOn civil.Date                 `json:"swim_up_on"`
	Steps    []planStepOut              `json:"steps"`
	Targets  []planTargetOut            `json:"targets"`
	EndedOn  units.Optional[civil.Date] `json:"ended_on"`
	entryOut
}

func planJSON(p *logbook.Plan) planOut {
	out := planOut{ID: p.ID, SeasonID: p.SeasonID, MadeOn: p.MadeOn, Goal: p.Goal, WantedOn: p.By, SwimUpOn: p.SwimUpOn,
		Steps: []planStepOut{}, Targets: []planTargetOut{}, EndedOn: someDate(p.EndedOn), entryOut: entryJSON(&p.Entry)}
	for _, s := range p.Steps {
		out.Steps = append(out.Steps, planStepOut(s))
	}
	for i, t := range p.Targets {
		out.Targets = append(out.Targets, planTargetOut{p.MadeOn.AddDays(i), t.Temperature, t.Index})
	}
	return out
}

type planNowOut struct {
	Plan    *planOut                `json:"plan"`         // null when none is followed
	LagDays units.Optional[float64] `json:"lag_days"`     // behind the plan; below 0 ahead
	Beyond  bool                    `json:"beyond_doubt"` // behind by more than the doubt
	StepDue *planStepOut            `json:"step_due"`     // not yet logged
}

// apiPlan is the plan that a season follows, and how the tank keeps to it.
func (s *Server) apiPlan(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assessedOf(r)
	if err != nil {
		return err
	}
	var out planNowOut
	if p := a.Season.Plan; p != nil {
		row, stored := planJSON(p), forecast.PlanOf(p)
		out.Plan = &row
		if days, beyond, ok := stored.Lag(&a.Forecast); ok {
			out.LagDays, out.Beyond = units.Some(days), beyond
		}
		for i := range a.Assessment.Flags {
			if f := &a.Assessment.Flags[i]; f.Rule == "plan_step" {
				set, _ := f.Headline.Args["Setpoint"].(units.Celsius)
				out.StepDue = &planStepOut{f.Since, set}
			}
		}
		setETag(w, p.Revision)
	}
	return writeJSON(w, http.StatusOK, out)
}

// apiPlanUse works a plan out and stores it as the one the season follows.
func (s *Server) apiPlanUse(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	k, none, err := s.planWork(r.Context(), n.season, v)
	if err != nil {
		return err
	}
	ask := planAsk{goal: logbook.PlanGoal(n.body.text("goal")), by: n.body.date("wanted_on"), weekends: n.body.flag("skip_weekends"),
		maxStep: numberOf[units.CelsiusDelta](n.body, "max_step_c_per_day").Or(k.largestStep())}
	err = n.refuse(func() []logbook.Problem {
		if none.Key != "" {
			none.Field = "season"
			return []logbook.Problem{none}
		}
		problems := k.checkAsk(ask)
		if len(problems) == 0 {
			problems = k.work(ask)
		}
		if len(problems) == 0 {
			problems = k.judge()
		}
		return renamed(problems, map[string]string{"max_step": "max_step_c_per_day", "by": "wanted_on"})
	})
	if err != nil {
		return err
	}
	plan := logbook.Plan{SeasonID: n.season.ID}
	if !n.answered {
		plan = k.stored()
	}
	saved, err := s.db.UsePlan(r.Context(), v.actor, plan, v.p.T("plan_page.replaced"), v.now, store.Write{Once: n.once, After: n.after})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/seasons/"+string(n.season.ID)+"/plan")
	return writeJSON(w, createdStatus(n.once, saved.Repeated), entryAnswer(r, "plan", planJSON(&saved.Row), saved.Changes))
}

type guessOut struct {
	ID       logbook.ID `json:"id"`
	SeasonID logbook.ID `json:"season_id"`
	Group    string     `json:"group"`
	On       civil.Date `json:"on"`
	MadeOn   civil.Date `json:"made_on"`
	entryOut
}

func guessJSON(g *logbook.Guess) guessOut {
	return guessOut{g.ID, g.SeasonID, g.Group, g.On, g.MadeOn, entryJSON(&g.Entry)}
}

// apiGuesses lists the guesses of a season.
func (s *Server) apiGuesses(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, listOf(season.Guesses, guessJSON))
}

// apiGuessCreate stores the guess of a group.
func (s *Server) apiGuessCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	g := logbook.Guess{SeasonID: n.season.ID, Group: n.body.text("group"), On: n.body.date("on"), MadeOn: s.today(n.season.Site, v.now)}
	closed, err := s.guessesClosed(r, n.season)
	if err != nil {
		return err
	}
	err = n.refuse(func() []logbook.Problem {
		problems := g.Validate(n.season)
		if len(problems) == 0 && closed != "" {
			problems = []logbook.Problem{{Field: "on", Key: closed}}
		}
		return problems
	})
	if err != nil {
		return err
	}
	saved, err := s.db.CreateGuess(r.Context(), v.actor, g, v.now, store.Write{Once: n.once})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	return writeJSON(w, createdStatus(n.once, saved.Repeated), guessJSON(&saved.Row))
}
