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

func planJSON(p *logbook.Plan) object {
	steps, targets := []planStepOut{}, []planTargetOut{}
	for _, s := range p.Steps {
		steps = append(steps, planStepOut(s))
	}
	for i, t := range p.Targets {
		targets = append(targets, planTargetOut{p.MadeOn.AddDays(i), t.Temperature, t.Index})
	}
	out := entryJSON(&p.Entry)
	out["id"], out["season_id"], out["made_on"], out["goal"] = p.ID, p.SeasonID, p.MadeOn, p.Goal
	out["wanted_on"], out["swim_up_on"], out["ended_on"] = p.By, p.SwimUpOn, calc.SomeDate(p.EndedOn)
	out["steps"], out["targets"] = steps, targets
	return out
}

type planNowOut struct {
	Plan    object                  `json:"plan"`         // null when none is followed
	LagDays units.Optional[float64] `json:"lag_days"`     // behind the plan; below 0 ahead
	Beyond  bool                    `json:"beyond_doubt"` // behind by more than the doubt
	StepDue *planStepOut            `json:"step_due"`     // not yet logged
}

// apiPlan is the plan that a season follows, and how the tank keeps to it.
func (s *Service) apiPlan(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assessedOf(r)
	if err != nil {
		return err
	}
	var out planNowOut
	if p := a.Season.Plan; p != nil {
		stored := forecast.PlanOf(p)
		out.Plan = planJSON(p)
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
	return req.WriteJSON(w, http.StatusOK, out)
}

// apiPlanUse works a plan out and stores it as the one the season follows.
func (s *Service) apiPlanUse(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	n, err := s.readKeyedEntry(r)
	if err != nil {
		return err
	}
	k, none, err := s.PlanWork(r.Context(), n.Season, v)
	if err != nil {
		return err
	}
	ask := assess.PlanAsk{Goal: logbook.PlanGoal(n.body.Text("goal")), By: n.body.Date("wanted_on"),
		Weekends: n.body.Flag("skip_weekends"),
		MaxStep:  form.NumberOf[units.CelsiusDelta](n.body, "max_step_c_per_day").Or(k.LargestStep())}
	err = n.refuse(func() []logbook.Problem {
		if none.Key != "" {
			none.Field = "season"
			return []logbook.Problem{none}
		}
		problems := k.CheckAsk(ask)
		if len(problems) == 0 {
			problems = k.Work(ask)
		}
		if len(problems) == 0 {
			problems = k.Judge()
		}
		return form.Renamed(problems, map[string]string{"max_step": "max_step_c_per_day", "by": "wanted_on"})
	})
	if err != nil {
		return err
	}
	plan := logbook.Plan{SeasonID: n.Season.ID}
	if !n.answered {
		plan = k.Stored()
	}
	after, err := s.Assess.FlagsAfter(r.Context(), n.Season, v.Now)
	if err != nil {
		return err
	}
	saved, err := s.DB.UsePlan(r.Context(), v.Actor, plan, v.P.T("plan_page.replaced"), v.Now,
		store.Write{Once: n.once, After: after})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/seasons/"+string(n.Season.ID)+"/plan")
	return req.WriteJSON(w, createdStatus(n.Key, saved.Repeated), object{"plan": planJSON(&saved.Row),
		"flags": flagChangesJSON(r, saved.Changes)})
}

func guessJSON(g *logbook.Guess) object {
	out := entryJSON(&g.Entry)
	out["id"], out["season_id"], out["group"], out["on"], out["made_on"] = g.ID, g.SeasonID, g.Group, g.On, g.MadeOn
	return out
}

// apiGuesses lists the guesses of a season.
func (s *Service) apiGuesses(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, listOf(season.Guesses, guessJSON))
}

// apiGuessCreate stores the guess of a group.
func (s *Service) apiGuessCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	n, err := s.readKeyedEntry(r)
	if err != nil {
		return err
	}
	g := logbook.Guess{SeasonID: n.Season.ID, Group: n.body.Text("group"), On: n.body.Date("on"),
		MadeOn: s.Assess.Today(n.Season.Site, v.Now)}
	closed, err := s.GuessesClosed(r, n.Season)
	if err != nil {
		return err
	}
	err = n.refuse(func() []logbook.Problem {
		problems := g.Validate(n.Season)
		if len(problems) == 0 && closed != "" {
			problems = []logbook.Problem{{Field: "on", Key: closed}}
		}
		return problems
	})
	if err != nil {
		return err
	}
	saved, err := s.DB.CreateGuess(r.Context(), v.Actor, g, v.Now, store.Write{Once: n.once})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	return req.WriteJSON(w, createdStatus(n.Key, saved.Repeated), guessJSON(&saved.Row))
}
